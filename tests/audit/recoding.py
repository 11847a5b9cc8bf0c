"""A key of a few lines made by hand, and sheets as coders give them back; nothing here reads a table of terms."""

from __future__ import annotations

from collections.abc import Sequence

from bridge.audit.agree import Agreed, Filled, agreed, read_filled
from bridge.audit.sample import Drawn, Key, Thing, key_of
from bridge.audit.shapes import Entry, Item
from bridge.fhir.systems import OWN, SCT
from bridge.recoding import HEADINGS, Choice
from bridge.visit.base import Coding

CHOICES = {
    "wax": (
        Choice("none", "wax-none", "wax", ((SCT, "2667000"),)),
        Choice("heavy", "wax-heavy", "wax", ((SCT, "271739002"),)),
        Choice("present", "wax-seen", "wax", ((SCT, "271739002"),)),
        Choice("impacted", "wax-impacted", "wax", ((SCT, "18070006"),)),
    ),
    "drum": (
        Choice("perforation", "drum-perforation", "drum", ((SCT, "60442001"),)),
        Choice("central perforation", "drum-perforation-central", "drum", ((SCT, "60442001"),)),
        Choice("redness", "drum-red", "drum"),
        Choice("perforation of the drum (impression)", "perforated-drum", "impression", ((SCT, "60442001"),)),
    ),
}
FIELDS = {"wax": ("amount of wax", False), "drum": ("finding of the drum", True)}
OWN_CODES = {c.shown: c for choices in CHOICES.values() for c in choices}

Made = tuple[str, str, str]
"""Kind, words, what the record has: the name of a choice, a bare SNOMED CT code, or nothing."""
FOUR: tuple[Made, ...] = (
    ("wax", "wax ++", "heavy"),
    ("wax", "chocka", ""),
    ("drum", "perf", "perforation"),
    ("drum", "red", "redness"),
)


def codings(has: str) -> tuple[Coding, ...]:
    if not has:
        return ()
    if has.isdigit():
        return (Coding(system=SCT, code=has),)
    choice = OWN_CODES[has]
    return (
        *(Coding(system=s, code=c) for s, c in choice.codes),
        Coding(system=OWN, code=choice.concept, display=choice.shown),
    )


def key_with(lines: Sequence[Made], who: Sequence[str] = (), by: str = "", groups: dict[str, int] | None = None) -> Key:
    """A key whose lines stand in the order given."""
    things = []
    for at, (kind, words, has) in enumerate(lines):
        entry = Entry(f"V{at + 1}", "2026-05", who[at] if who else "")
        said = "present" if kind == "drum" else ""
        item = Item(f"right.{kind}[{at}]", kind, words, codings(has), side="right", assertion=said)
        things.append(Thing(entry, item, kind))
    drawn = Drawn(things, sum((groups or {"": len(lines)}).values()), groups or {"": len(lines)})
    return key_of(drawn, "seed", by, CHOICES, FIELDS)


def row(key: Key, at: int, meaning: str = "", other: str = "", said: str = "", ear: str = "") -> list[str]:
    """The row of a line, from 1, as it was given out and then filled."""
    given = key.lines[at - 1]
    return [given.line, given.field, given.words, given.under, meaning, other, said, ear]


def filled(key: Key, coder: str, rows: Sequence[Sequence[str]], headings: Sequence[str] = HEADINGS) -> Filled:
    found = read_filled(key, coder, headings, enumerate(rows, 2), f"{coder}.xlsx", "Lines")
    assert found is not None
    return found


def result(key: Key, **meanings: Sequence[str]) -> Agreed:
    """What coders come to who gave these meanings to the lines in their order; an empty one is a line left out."""
    sheets = [
        filled(key, coder, [row(key, at, m, "x" if m == "other" else "") for at, m in enumerate(said, 1)])
        for coder, said in meanings.items()
    ]
    return agreed(key, sheets)
