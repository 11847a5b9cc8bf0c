"""Words for codes, numbers, names and dates."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from functools import cache

from bridge.ear_words import Ear
from bridge.fhir.elements import ear_of
from bridge.fhir.systems import OWN
from bridge.regions import Wording, region, region_of_language
from bridge.shapes import Json
from bridge.wording import ENGLISH, Catalogue, for_tag, language, say, speaking

_TIME_UNITS = ("h", "d", "wk", "mo", "a")
_DROPS = "[drp]"
_DATE = re.compile(r"(\d{4})(?:-(0[1-9]|1[0-2])(?:-(\d\d))?)?(?:T(\d\d:\d\d))?")


_wording: ContextVar[Wording] = ContextVar("wording")
"""How the document at hand writes days and addresses, so that a fact is told alike wherever it stands."""


@contextmanager
def worded(wording: Wording) -> Iterator[None]:
    """Days, times and addresses are written this way inside; elsewhere as the international pack has it."""
    token = _wording.set(wording)
    try:
        yield
    finally:
        _wording.reset(token)


@contextmanager
def told_in(tag: str, chosen: Catalogue | None = None) -> Iterator[None]:
    """Everything inside is told as a document of this language tag tells it: `en-GB` in English as the pack of the
    United Kingdom writes days, `de-GB` in German with the order of a British address.

    `chosen`: the catalogue, where it is not the one that the tag names.
    """
    words = chosen or for_tag(tag)
    with speaking(words), worded(_wording_of(tag, words)):
        yield


@cache
def _wording_of(tag: str, chosen: Catalogue) -> Wording:
    """A pack knows how days are written in its own language; for another the catalogue says it."""
    pack = region_of_language(tag)
    if pack.language.partition("-")[0] == chosen.tag:
        return pack.wording
    said = chosen.words
    return replace(pack.wording, day=said["date.day"], month=said["date.month"], clock=int(said["date.hours"]))


def wording() -> Wording:
    return _wording.get(None) or region("international").wording


def label(concept: Json | None) -> str:
    """The clean label of a concept: our own code's display in the language in force, else the words, else the first
    display."""
    if not concept:
        return ""
    codings, own = concept.get("coding", ()), _own(concept)
    if own:
        chosen, display = language(), str(own["display"])
        return display if chosen.tag == ENGLISH else chosen.words.get(f"code.{own.get('code')}", display)
    return str(concept.get("text") or next((c["display"] for c in codings if c.get("display")), ""))


def _own(concept: Json) -> Json | None:
    """The coding of our own, if it says in words what it means."""
    return next((c for c in concept.get("coding", ()) if c.get("system") == OWN and c.get("display")), None)


def noted(concept: Json | None) -> str:
    """The local words where the clean label does not hold them, in their order, already; else an empty string.

    The text of an answer of ours is its display in English, and no local word in any language.
    """
    local, own = str((concept or {}).get("text") or ""), _own(concept or {})
    if own and local == own["display"]:
        return ""
    rest = iter(_folded(label(concept)).split())
    return "" if all(any(_same(word, other) for other in rest) for word in _folded(local).split()) else local


def _same(word: str, other: str) -> bool:
    """Whether a word of the label is the local word or made from it: `redness` from `red`, not `wasp` from `was`."""
    return word == other or (len(word) > 2 and other.startswith(word) and other[len(word) :] in language().endings)


def words(concept: Json | None) -> str:
    """The clean label, and the local words in quotes where they say it differently."""
    local = noted(concept)
    return say("told.noted", label=label(concept), local=local) if local else label(concept)


def words_inside(concept: Json | None) -> str:
    """The same to stand inside brackets."""
    local = noted(concept)
    return say("told.noted.inside", label=label(concept), local=local) if local else label(concept)


def asserted(assertion: str, question: Json) -> str:
    """A term that is suspected, absent or past, so that it cannot be read as a finding."""
    clean, local = label(question), noted(question)
    if clean == question.get("text") or assertion == "unread":
        # words that no table knows may hold a "no" or a "?" of their own
        return say(f"told.words.{assertion}", words=clean)
    said = say(f"told.asserted.{assertion}", label=clean)
    return said if not local or _folded(local) == _folded(said) else say("told.noted", label=said, local=local)


def _folded(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())


def amount(quantity: Json) -> str:
    """`120 mmHg`, `95%`, `2 weeks`, with the digits that were recorded."""
    value, unit = number(str(quantity.get("value", ""))), str(quantity.get("unit") or quantity.get("code") or "")
    if unit in ("", "1"):
        return value
    if unit == "%":
        return say("unit.percent", number=value)
    if unit in _TIME_UNITS:
        return say(f"unit.{unit}.{'one' if value == '1' else 'other'}", number=value)
    if quantity.get("code") == _DROPS:
        return say(f"unit.drop.{'one' if value == '1' else 'other'}", number=value)
    return f"{value} {unit}"


def number(digits: str) -> str:
    """A number as it was recorded, with the decimal sign of the language in force."""
    point = language().point
    return digits if point == "." else digits.replace(".", point)


def day(when: str) -> str:
    """`3 November 2026` (or `November 3, 2026`), `May 2026`, `2010` of a FHIR date or dateTime; else as it is."""
    found = _DATE.match(when)
    if not found:
        return when
    year, month, date, _ = found.groups()
    if not month:
        return year
    form = wording().day if date else wording().month
    return form.format(day=int(date or 1), month=say(f"month.{int(month)}"), year=year)


def clock(when: str) -> str:
    """The time of day, `10:15` or `10:15 am`; empty where there is none."""
    found = _DATE.match(when)
    time = (found[4] or "") if found else ""
    if not time:
        return ""
    if wording().clock == 24:
        return say("time.of-day", time=time)
    hour = int(time[:2])
    return say(f"time.{'morning' if hour < 12 else 'afternoon'}", time=f"{hour % 12 or 12}{time[2:]}")


def moment(when: str) -> str:
    """The day, and the time of day where there is one."""
    return ", ".join(p for p in (day(when), clock(when)) if p)


def name(names: list[Json] | None) -> str:
    """The official name, else the first."""
    found = next((n for n in names or () if n.get("use") == "official"), (names or [{}])[0])
    return spelt(found)


def spelt(human: Json) -> str:
    """One name as it is written."""
    parts = [*human.get("prefix", ()), *human.get("given", ()), human.get("family", ""), *human.get("suffix", ())]
    return str(human.get("text") or " ".join(p for p in parts if p))


def address(postal: Json) -> str:
    """The parts of an address in the order of the country."""
    keys = ("city", "district", "state", "postalCode", "country")
    parts = {"lines": ", ".join(map(str, postal.get("line", ()))), **{k: str(postal.get(k) or "") for k in keys}}
    written = (form.format(**parts).strip() for form in wording().address)
    return ", ".join(part for part in written if part) or str(postal.get("text", ""))


def listed(items: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    if len(items) < 2:
        return "".join(items)
    return say("list.last", before=", ".join(items[:-1]), last=items[-1])


def ear_words(ear: Ear) -> str:
    """`right ear`."""
    return say(f"ear.{ear}")


def site_words(site: Json) -> str:
    """An ear as body site, in the language in force; the part of one, and other places, in the site's own words."""
    ear, words = ear_of(site), str(site.get("text", ""))
    return ear_words(ear) if ear and words in ("", f"{ear} ear") else words


def sentence(text: str) -> str:
    """With a capital, and closed by a full stop where nothing closes it."""
    said = upper_first(text.strip())
    return said if not said or said[-1] in ".?!…" else f"{said}."


def upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]
