"""Free text that stays on request, without the names, numbers and addresses that the record itself knows.

It finds what it knows and what looks like a number or an address. A nickname, a neighbour, a place of work it does not
find: a person has to read what is left.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Any

from pydantic import BaseModel

from bridge.telling_words import names_in
from bridge.visit import Visit
from bridge.visit.people import Address, Client, Clinic, FamilyDoctor, Guardian, Practitioner, Recipient

GONE = "redacted"
"""Stands where something was. No table of words knows it, so it is never read as a finding."""

_WORD = re.compile(r"[^\W_]+")
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

    `others`: names of the practice's own. `elsewhere`: words of the names of all people in all records, as `people`
    gives them; they are taken out where they begin with a capital letter, since "brown" is a colour too.
    """

    def __init__(
        self, visits: Iterable[Visit], others: Iterable[str] = (), elsewhere: frozenset[str] = frozenset()
    ) -> None:
        self._words: set[str] = set()
        self._elsewhere = elsewhere
        self._numbers: set[str] = set()
        for visit in visits:
            for text in _identifying(visit):
                self._learn(text)
        for text in others:
            self._learn(text)

    def of(self, text: str) -> str:
        """The text with what was found replaced; unchanged where nothing was."""
        for shape in _SHAPES:
            text = shape.sub(GONE, text)
        found = _WORD.sub(lambda word: GONE if self._knows(word[0]) else word[0], text)
        return re.sub(rf"{GONE}(?:[ \t,.’'-]+{GONE})+", GONE, found)

    def _knows(self, word: str) -> bool:
        plain = _plain(word)
        if plain in self._words or (word[0].isupper() and plain in self._elsewhere):
            return True
        return re.sub(r"\D", "", word) in self._numbers

    def _learn(self, text: str) -> None:
        digits = re.sub(r"\D", "", text)
        if len(digits) >= 4:
            self._numbers.add(digits)
        self._words.update(_plain(word) for word in _WORD.findall(text) if len(word) >= 2 and not word.isdigit())


def people(visits: Iterable[Visit]) -> frozenset[str]:
    """The words of all names of people in the records, folded."""
    return frozenset(_plain(word) for visit in visits for word in names_in(visit))


def names(visit: Visit) -> frozenset[str]:
    """The words of every name in the record, folded."""
    return frozenset(_plain(word) for text in _identifying(visit) for word in _LETTERS.findall(text))


def folded(text: str) -> list[str]:
    """The words of a text, folded as `names` are."""
    return [_plain(word) for word in _LETTERS.findall(text)]


def _identifying(visit: Visit) -> Iterator[str]:
    groups: list[Any] = [visit.client, visit.clinic, visit.family_doctor, *visit.practitioners]
    groups.append(visit.referral.recipient if visit.referral else None)
    for group in groups:
        yield from _texts(group)
    yield visit.number
    consent, sharing, referral = visit.consent, visit.sharing, visit.referral
    told = [consent.given_by, consent.taken_by] if consent else []
    told += [*(sharing.recipients if sharing else ()), referral.told_to if referral else None]
    yield from (text for text in told if text)


_SAY_NO_NAME = {
    Client: {"sex", "nhs_number_status", "language"},
    Guardian: {"relationship"},
    Practitioner: {"role"},
    Clinic: {"hours"},
    FamilyDoctor: {"answer", "note"},
    Recipient: set[str](),
    Address: {"country"},
}


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, BaseModel):
        passed = _SAY_NO_NAME.get(type(value), set())
        for name in type(value).model_fields:
            if name not in passed:
                yield from _texts(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)


def _plain(word: str) -> str:
    apart = unicodedata.normalize("NFKD", word.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))
