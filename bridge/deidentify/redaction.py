"""Free text that stays on request, without the names, numbers and addresses that the record itself knows.

It finds what it knows and what looks like a number or an address. A nickname, a neighbour, a place of work it does not
find: a person has to read what is left.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any, Literal

from pydantic import BaseModel

from bridge.deidentify.places import WORD, Places, plain
from bridge.telling_words import names_in
from bridge.visit import Visit
from bridge.visit.people import Address, Client, Clinic, FamilyDoctor, Guardian, Practitioner, Recipient

GONE = "redacted"
"""Stands where something was. No table of words knows it, so it is never read as a finding."""

What = Literal["name", "address", "place", "told"]
"""Whether words are of a name of somebody, of an address, of the name of a clinic or a practice, or say who is told."""
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_UNITS = (
    "day|daily|week|weekly|month|monthly|year|yearly|hour|minute|min|sec|second|hz|khz|db|ml|mm|kpa|mmhg|dapa|mbar|bar"
    "|fr|yo|yr"
)
_SHAPES = [
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        r"[^\s@]{1,64}@[^\s@]{1,255}",
        r"\b(?:https?://|www\.)\S+",
        r"\b\d{1,3}(?:\.\d{1,3}){3}\b",
        rf"\b(?!\d+-?(?:{_UNITS})s?\b)(?=[\w-]{{0,40}}\d)(?=[\w-]{{0,40}}[a-z])\w[\w-]{{4,}}\b",
        r"\b(?:mr|mrs|ms|mx|dr|prof)\b\.?(?:[ \t]+[^\W\d_][\w’'-]*){1,2}",
        r"\b(?:miss|professor|nurse|sister|sr|rev|sir|lady|lord)\b\.?(?:[ \t]+(?-i:[A-ZÀ-ÖØ-Þ])[\w’'-]*){1,2}",
        r"\b[a-z]{1,2}\d[a-z\d]?[ \t]*\d[a-z]{2}\b",
        r"\b[a-z]{2}\d{2}[ \t]*[a-z]{3}\b",
        r"\b\d{1,4}[./-]\d{1,2}[./-]\d{1,4}\b",
        rf"\b\d{{1,2}}(?:st|nd|rd|th)?[ \t]+(?:{_MONTHS})[a-z]*\.?(?:[ \t,]+\d{{2,4}})?\b",
        rf"\b(?:{_MONTHS})[a-z]*\.?[ \t]+\d{{1,2}}(?:st|nd|rd|th)?(?:[ \t,]+\d{{2,4}})?\b",
        r"\+?\(?\d[\d ()./-]{4,}\d",
        r"\b\d{1,4}[a-z]?[ \t]+(?:[^\W\d_]+[ \t]+){1,3}"
        r"(?:street|st|road|rd|lane|ln|avenue|ave|close|drive|way|court|place)\b",
    )
]
"""What looks like an address of a person or of a computer, somebody with a title, a postcode, a number plate, a date,
a number, a street."""


class Redaction:
    """The names and numbers of one client's visits and of the people in them.

    `others` and `places`: names of the practice's own people, and of clinics and practices that it knows. `elsewhere`:
    words of the names of all people in all records, as `people` gives them; they are taken out where they begin with a
    capital letter, since "brown" is a colour too. `trade`: words that tell of no place by themselves.
    """

    def __init__(
        self,
        visits: Iterable[Visit],
        others: Iterable[str] = (),
        elsewhere: frozenset[str] = frozenset(),
        places: Iterable[str] = (),
        trade: frozenset[str] = frozenset(),
    ) -> None:
        self._words: set[str] = set()
        self._places = Places(trade)
        self._elsewhere = elsewhere
        self._numbers: set[str] = set()
        for visit in visits:
            for what, text in _identifying(visit):
                self._learn(text, what)
        for text in others:
            self._learn(text, "name")
        for text in places:
            self._learn(text, "place")

    def of(self, text: str) -> str:
        """The text with what was found replaced; unchanged where nothing was."""
        for shape in _SHAPES:
            text = shape.sub(GONE, text)
        for start, end in reversed(self._places.spans(text)):
            text = f"{text[:start]}{GONE}{text[end:]}"
        found = WORD.sub(lambda word: GONE if self._knows(word[0]) else word[0], text)
        return re.sub(rf"{GONE}(?:[ \t,.’'-]+{GONE})+", GONE, found)

    def _knows(self, word: str) -> bool:
        known = plain(word)
        if known in self._words or known in self._places.words or (word[0].isupper() and known in self._elsewhere):
            return True
        return re.sub(r"\D", "", word) in self._numbers

    def _learn(self, text: str, what: What) -> None:
        digits = re.sub(r"\D", "", text)
        if len(digits) >= 4:
            self._numbers.add(digits)
        if what == "name":
            self._words.update(plain(word) for word in WORD.findall(text) if len(word) >= 2 and not word.isdigit())
        else:
            self._places.learn(text, what)


def people(visits: Iterable[Visit]) -> frozenset[str]:
    """The words of all names of people in the records, folded."""
    return frozenset(plain(word) for visit in visits for word in names_in(visit))


def names(visit: Visit) -> frozenset[str]:
    """The words of every name in the record, folded, without those of places."""
    return frozenset(
        plain(word) for what, text in _identifying(visit) if what == "name" for word in _LETTERS.findall(text)
    )


def folded(text: str) -> list[str]:
    """The words of a text, folded as `names` are."""
    return [plain(word) for word in _LETTERS.findall(text)]


def _identifying(visit: Visit) -> Iterator[tuple[What, str]]:
    groups: list[Any] = [visit.client, visit.clinic, visit.family_doctor, *visit.practitioners]
    groups.append(visit.referral.recipient if visit.referral else None)
    for group in groups:
        yield from _texts(group)
    yield "name", visit.number
    consent, sharing, referral = visit.consent, visit.sharing, visit.referral
    told = [consent.given_by, consent.taken_by] if consent else []
    told += [referral.told_to] if referral else []
    yield from (("name", text) for text in told if text)
    yield from (("told", text) for text in (sharing.recipients if sharing else ()))


_SAY_NO_NAME = {
    Client: {"sex", "nhs_number_status", "language"},
    Guardian: {"relationship"},
    Practitioner: {"role"},
    Clinic: {"hours"},
    FamilyDoctor: {"answer", "note"},
    Recipient: set[str](),
    Address: {"country"},
}


_PLACES = {Clinic: {"name"}, FamilyDoctor: {"practice"}, Recipient: {"name"}}


def _texts(value: Any, what: What = "name") -> Iterator[tuple[What, str]]:
    if isinstance(value, str):
        yield what, value
    elif isinstance(value, BaseModel):
        passed, places = _SAY_NO_NAME.get(type(value), set()), _PLACES.get(type(value), set())
        if isinstance(value, Address):
            what = "address"
        for name in type(value).model_fields:
            if name not in passed:
                yield from _texts(getattr(value, name), "place" if name in places else what)
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item, what)
