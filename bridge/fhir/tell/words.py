"""Words for codes, numbers, names and dates."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from bridge.fhir.systems import OWN
from bridge.regions import Wording, region
from bridge.shapes import Json

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip

_TIME_UNITS = {"h": "hour", "d": "day", "wk": "week", "mo": "month", "a": "year"}
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


def wording() -> Wording:
    return _wording.get(None) or region("international").wording


def label(concept: Json | None) -> str:
    """The clean label of a concept: our own code's display, else the words, else the first display."""
    if not concept:
        return ""
    codings = concept.get("coding", ())
    own = next((c.get("display") for c in codings if c.get("system") == OWN and c.get("display")), None)
    return str(own or concept.get("text") or next((c["display"] for c in codings if c.get("display")), ""))


def noted(concept: Json | None) -> str:
    """The local words where the clean label does not hold them, in their order, already; else an empty string."""
    local = str((concept or {}).get("text") or "")
    rest = iter(_folded(label(concept)).split())
    return "" if all(any(_same(word, other) for other in rest) for word in _folded(local).split()) else local


def _same(word: str, other: str) -> bool:
    """Whether a word of the label is the local word or made from it: `redness` from `red`, not `wasp` from `was`."""
    return word == other or (len(word) > 2 and other.startswith(word) and other[len(word) :] in _ENDINGS)


_ENDINGS = ("s", "es", "d", "ed", "ness", "ing", "ment", "ation", "ion", "ly", "y", "ful", "able", "en")


def words(concept: Json | None) -> str:
    """The clean label, and the local words in quotes where they say it differently."""
    local = noted(concept)
    return f"{label(concept)} (noted as “{local}”)" if local else label(concept)


def words_inside(concept: Json | None) -> str:
    """The same to stand inside brackets."""
    local = noted(concept)
    return f"{label(concept)}, noted as “{local}”" if local else label(concept)


def asserted(assertion: str, question: Json) -> str:
    """A term that is suspected, absent or past, so that it cannot be read as a finding."""
    clean, local = label(question), noted(question)
    if clean == question.get("text") or assertion == "unread":
        return f"“{clean}” ({_ASSERTED.get(assertion, 'in the past')})"
    said = {"suspected": f"{clean} suspected, not confirmed", "absent": f"no {clean}"}.get(
        assertion, f"{clean} in the past"
    )
    return said if not local or _folded(local) == _folded(said) else f"{said} (noted as “{local}”)"


_ASSERTED = {
    "suspected": "suspected, not confirmed",
    "absent": "that is, not present",
    "unread": "the practitioner’s own words",
}
"""Said behind words that no table knows, and that may hold a "no" or a "?" of their own."""


def _folded(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())


def amount(quantity: Json) -> str:
    """`120 mmHg`, `95%`, `2 weeks`, with the digits that were recorded."""
    value, unit = str(quantity.get("value", "")), str(quantity.get("unit") or quantity.get("code") or "")
    unit = f"{_TIME_UNITS[unit]}{'' if value == '1' else 's'}" if unit in _TIME_UNITS else unit
    if unit in ("", "1"):
        return value
    return f"{value}%" if unit == "%" else f"{value} {unit}"


def day(when: str) -> str:
    """`3 November 2026` (or `November 3, 2026`), `May 2026`, `2010` of a FHIR date or dateTime; else as it is."""
    found = _DATE.match(when)
    if not found:
        return when
    year, month, date, _ = found.groups()
    if not month:
        return year
    form = wording().day if date else wording().month
    return form.format(day=int(date or 1), month=MONTHS[int(month) - 1], year=year)


def clock(when: str) -> str:
    """The time of day, `10:15` or `10:15 am`; empty where there is none."""
    found = _DATE.match(when)
    time = (found[4] or "") if found else ""
    if not time or wording().clock == 24:
        return time
    hour = int(time[:2])
    return f"{hour % 12 or 12}{time[2:]} {'am' if hour < 12 else 'pm'}"


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
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + f" and {items[-1]}" if items else ""


def sentence(text: str) -> str:
    """With a capital, and closed by a full stop where nothing closes it."""
    said = upper_first(text.strip())
    return said if not said or said[-1] in ".?!…" else f"{said}."


def upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]
