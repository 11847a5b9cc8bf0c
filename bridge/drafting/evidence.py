"""What the cells of a column are: words of one kind, numbers with one unit, or running text."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from bridge.drafting.fits import is_number, is_percent
from bridge.drafting.shapes import Column, Terms
from bridge.drafting.tables import cell_key, words_abroad
from bridge.drafting.words import meaning
from bridge.layout.tables import unit_of

ENOUGH, AHEAD = 0.6, 0.15
"""Share of the cells that has to be words of one kind, and how far before the next kind."""
SENTENCE = 6
"""Words from which a cell is a sentence rather than an answer."""
_BETWEEN = re.compile(r"\s*(?:[,;/+&\n]|\b(?:and|und|et|y|e|i|en|och|og)\b)\s*", re.IGNORECASE)
_KINDS = {
    "wax-amount": "wax", "wax-consistency": "texture", "wax-colour": "colour", "drum": "drum", "canal": "canal",
    "contents": "contents", "method": "method", "instrument": "tool", "product": "product", "tolerance": "tolerance",
    "outcome": "outcome", "event": "event", "symptom": "symptom", "hearing-change": "hearing", "view-reason": "reason",
    "hearing-aid-style": "aid", "advice": "advice", "caution": "caution", "medicine": "medicine", "past-event": "past",
    "referral-target": "refer",
}  # fmt: skip
FIELDS: Mapping[str, str] = {
    "wax": "ear.@.wax", "texture": "ear.@.wax.consistency", "colour": "ear.@.wax.colour", "drum": "ear.@.drum",
    "canal": "ear.@.canal", "contents": "ear.@.contents", "method": "ear.work.method", "tool": "ear.work.instruments",
    "product": "ear.work.products", "tolerance": "ear.work.tolerance", "outcome": "ear.work.outcome",
    "event": "ear.work.events", "symptom": "ear.symptoms", "hearing": "ear.hearing_change",
    "reason": "ear.@.view.reason", "aid": "ear.hearing_aid.style", "advice": "advice", "caution": "cautions",
    "medicine": "medicines", "past": "ear.history", "refer": "referral.to",
}  # fmt: skip
"""Kind of words to the field whose cells hold them."""
_UNITS = {
    "mm[Hg]": "ear.work.suction.pressure", "kPa": "ear.work.suction.pressure", "mbar": "ear.work.suction.pressure",
    "bar": "ear.work.suction.pressure", "cm[H2O]": "ear.work.suction.pressure",
    "Cel": "ear.work.irrigation.temperature", "mL": "ear.work.irrigation.volume", "min": "ear.work.duration",
}  # fmt: skip
_OF_WAX = frozenset(("wax", "texture", "colour"))
_TOLD = frozenset(("symptom", "past", "caution", "medicine", "advice", "refer"))
_ANSWERS = ("yes-no", "view", "attendance")
_NEUTRAL = ("part", "wax")


@dataclass(frozen=True, slots=True)
class Kinds:
    """How well the cells fit each kind of words."""

    shares: Mapping[str, float]
    cells: int = 0
    """Cells that say something of their own: NAD and "none" fit anywhere."""

    @property
    def best(self) -> str:
        """The kind that nearly all cells are words of, and no other kind as well; empty where there is none."""
        ranked = [*self._ranked, ("", 0.0), ("", 0.0)]
        if self.cells < 2:
            return ""
        if ranked[0][1] >= ENOUGH and ranked[0][1] - ranked[1][1] >= AHEAD:
            return ranked[0][0]
        others = max((share for kind, share in ranked if kind not in _OF_WAX), default=0.0)
        return "wax" if self.wax >= ENOUGH and self.wax - others >= AHEAD else ""

    @property
    def likely(self) -> list[str]:
        """Kinds that a good part of the cells are words of, best first."""
        return [kind for kind, share in self._ranked if share >= 0.3][:4]

    @property
    def _ranked(self) -> list[tuple[str, float]]:
        """Kinds by their share. What was seen and done goes before what was told: microsuction can be long past."""
        known = [(k, s) for k, s in self.shares.items() if k in FIELDS]
        if any(s >= ENOUGH and k not in _TOLD for k, s in known):
            known = [(k, s) for k, s in known if k not in _TOLD]
        return sorted(known, key=lambda p: (-p[1], p[0]))

    @property
    def wax(self) -> float:
        """How many cells are about wax and nothing else."""
        return self.shares.get("any wax", 0.0)


def kinds_of(column: Column, language: str, terms: Terms | None) -> Kinds:
    """What the column's cells are words for, by the term maps and by the short words of the sheet's language."""
    shares: Counter[str] = Counter()
    heard = 0
    for cell, n in column.cells.items():
        found = [kinds for part in _parts(cell) if (kinds := _part(part, language, terms)) is not None]
        if not found:
            continue
        heard += n
        for kind in set().union(*found):
            shares[kind] += n * sum(kind in kinds for kinds in found) / len(found)  # type: ignore[assignment]
    return Kinds({k: share / heard for k, share in shares.items() if k != "any wax"} | _wax(shares, heard), heard)


def _wax(shares: Counter[str], heard: int) -> dict[str, float]:
    return {"any wax": shares["any wax"] / heard} if shares["any wax"] else {}


def _parts(cell: str) -> list[str]:
    return [part for part in _BETWEEN.split(cell[:200]) if part]


def _part(part: str, language: str, terms: Terms | None) -> frozenset[str] | None:
    """Kinds of which these words are; None where they fit anywhere."""
    if is_percent(part) or any(meaning(group, part, language) for group in _ANSWERS):
        return None
    kinds = _known(part, language, terms)
    words = cell_key(part).split()
    if not kinds and 1 < len(words) <= 4:
        kinds = frozenset().union(*(_known(w, language, terms) for w in words if len(w) > 2))
    if len(kinds) != 1 and any(meaning(group, part, language) for group in _NEUTRAL):
        return None
    return kinds | {"any wax"} if kinds & _OF_WAX else kinds


def _known(words: str, language: str, terms: Terms | None) -> frozenset[str]:
    found = {kind for lang, kind in words_abroad().get(cell_key(words), ()) if lang == language}
    for name, kind in _KINDS.items() if terms is not None else ():
        concept = terms.find(name, words)  # type: ignore[union-attr]
        if concept is not None and concept.kind == name:
            found.add(kind)
    return frozenset(found)


def is_prose(column: Column) -> bool:
    """Whether the cells are running text: sentences, hardly any twice."""
    return column.share(lambda c: len(c.split()) >= SENTENCE) > 0.5 or (
        len(column.cells) * 10 >= column.filled * 8
        and column.share(lambda c: len(c.split()) >= 4 and any(x.isalpha() for x in c)) > 0.6
    )


def field_of_unit(column: Column, unit: str) -> str:
    """The field that a unit tells, from the heading or from nearly all cells; empty where none does."""
    if not column.filled:
        return ""
    if unit and unit_of(unit) in _UNITS and column.share(is_number) > 0.8:
        return _UNITS[str(unit_of(unit))]
    fields = Counter[str]()
    for cell, n in column.cells.items():
        if found := re.fullmatch(r"[-+−]?\d[\d.,]*\s*([^\d\s].*)", cell):
            size = "ear.work.instruments.size" if unit_of(found[1], "size") and not unit_of(found[1]) else ""
            fields[_UNITS.get(unit_of(found[1]) or "", size)] += n
        elif re.fullmatch(r"(?:Fr|FG|Ch)\.?\s*\d.*", cell, re.IGNORECASE):
            fields["ear.work.instruments.size"] += n
    return next((field for field, n in fields.items() if field and n >= 0.8 * column.filled), "")
