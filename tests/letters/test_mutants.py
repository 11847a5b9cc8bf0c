"""The oracle can fail: each hand-made fault is caught in every letter that it changes."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

import pytest

from bridge.render.as_html import html_of
from bridge.render.letter import page_of
from bridge.render.page import Ears, Lines, Page, Pictures, Text
from tests.letters.marked import bundle_of, marked
from tests.letters.oracle import faults
from tests.letters.screen import read_html

SEEDS = range(120)
SIDES = re.compile(r"\b(right|left)\b", re.IGNORECASE)


def _ears(page: Page) -> Ears | None:
    return next((b for s in page.sections for b in s.blocks if isinstance(b, Ears)), None)


def _words(value: Any, change: Callable[[str], str], *, once: bool = False) -> bool:
    """Changes texts in place, all of them or the first that changes; whether any did."""
    found = False
    if isinstance(value, list):
        for at, held in enumerate(value):
            if isinstance(held, str):
                value[at] = change(held)
                found = found or value[at] != held
            else:
                found = _words(held, change, once=once) or found
            if found and once:
                return True
    elif is_dataclass(value):
        for field in fields(value):
            held = getattr(value, field.name)
            if isinstance(held, str) and field.name in ("words", "alt"):
                setattr(value, field.name, change(held))
                found = found or getattr(value, field.name) != held
            elif isinstance(held, list):
                found = _words(held, change, once=once) or found
            if found and once:
                return True
    return found


def _section(page: Page, key: str) -> list[Any]:
    return next((s.blocks for s in page.sections if s.key == key), [])


def swap_cells(page: Page) -> bool:
    ears = _ears(page)
    for row in ears.rows if ears else ():
        one, two = row.cells
        one.blocks, two.blocks = two.blocks, one.blocks
    return bool(ears) and any(r.cells[0].blocks != r.cells[1].blocks for r in ears.rows)


def swap_stages(page: Page) -> bool:
    ears = _ears(page)
    if ears is None:
        return False
    before, after = (next(r for r in ears.rows if r.key == k) for k in ("before", "after"))
    before.cells, after.cells = after.cells, before.cells
    return [c.blocks for c in before.cells] != [c.blocks for c in after.cells]


def swap_brief(page: Page) -> bool:
    other = {"right": "left", "left": "right", "Right": "Left", "Left": "Right"}
    return _words(_section(page, "brief"), lambda text: SIDES.sub(lambda m: other[m[1]], text))


def swap_drawings(page: Page) -> bool:
    for section in page.sections:
        for block in section.blocks:
            if isinstance(block, Pictures) and len(block.pictures) > 1:
                one, two = block.pictures[:2]
                one.alt, two.alt, one.legend, two.legend = two.alt, one.alt, two.legend, one.legend
                return one.alt != two.alt
    return False


def drop_line(page: Page) -> bool:
    """The first line of the table that tells anything."""
    ears = _ears(page)
    for cell in (c for row in ears.rows for c in row.cells) if ears else ():
        for block in cell.blocks:
            if isinstance(block, Lines) and block.lines:
                del block.lines[0]
                cell.blocks = [b for b in cell.blocks if not isinstance(b, Lines) or b.lines or b.title]
                cell.blocks = cell.blocks or [Text("Not recorded")]
                return True
    return False


def drop_history(page: Page) -> bool:
    blocks = [b for b in _section(page, "history") if isinstance(b, Lines) and b.title and re.search(r"q\d+z", str(b))]
    for block in blocks[:1]:
        block.lines = []
    return bool(blocks)


def _brief(page: Page, form: str, new: str) -> bool:
    return _words(_section(page, "brief"), lambda text: re.sub(form, new, text, count=1), once=True)


def _in_table(page: Page, old: str, new: str) -> bool:
    ears = _ears(page)
    return bool(ears) and _words(ears.rows, lambda text: text.replace(old, new, 1), once=True)


def _in_brief(page: Page, old: str, new: str) -> bool:
    return _words(_section(page, "brief"), lambda text: text.replace(old, new, 1), once=True)


def add(sentence: str) -> Callable[[Page], bool]:
    def to_brief(page: Page) -> bool:
        texts = [b for b in _section(page, "brief") if isinstance(b, Text)]
        for text in texts:
            text.words += sentence
        return bool(texts)

    return to_brief


DOUBTED = (
    r"the practitioner suspects ([^;.]*?) in (the (?:right|left) (?:eardrum|ear canal|outer ear)) \(not confirmed\)"
)


MUTANTS: dict[str, Callable[[Page], bool]] = {
    "the columns swapped": swap_cells,
    "before and after swapped": swap_stages,
    "the ears swapped in brief": swap_brief,
    "drawings swapped": swap_drawings,
    "a line of the table dropped": drop_line,
    "a line of the history dropped": drop_history,
    "a finding in brief dropped": lambda p: _brief(p, r"[^.;]* (?:showed|contained) [^.;]*[.;]", ""),
    "normal told as not seen": lambda p: _in_table(p, "looked normal", "could not be seen"),
    "not seen told as normal": lambda p: _in_table(p, "could not be seen", "looked normal"),
    "not examined told as not seen": lambda p: _in_table(p, "not examined", "could not be seen"),
    "not recorded told as normal": lambda p: _in_table(p, "Not recorded", "Eardrum: looked normal."),
    "normal in brief told as not seen": lambda p: _in_brief(p, "looked normal", "could not be seen"),
    "not examined in brief told as not seen": lambda p: _in_brief(
        p, "was not examined in the", "could not be seen in the"
    ),
    "a suspicion told as a finding": lambda p: _in_table(p, " suspected, not confirmed", ""),
    "a suspicion in words told as a finding": lambda p: _in_table(p, " (suspected, not confirmed)", ""),
    "a suspicion in brief told as a finding": lambda p: _brief(p, DOUBTED, r"\2 showed \1"),
    "a suspicion in brief without its doubt": lambda p: _brief(p, r" \(not confirmed\)", ""),
    "a denial told as a finding": lambda p: _in_table(p, " (that is, not present)", ""),
    "a past event told as a finding": lambda p: _in_table(p, " in the past", ""),
    "another number": lambda p: _in_table(p, "% of the canal", "1% of the canal"),
    "another outcome": lambda p: _in_brief(p, "removed nothing", "was completed"),
    "unfinished told as complete": lambda p: _brief(
        p, r"[Hh]ow (the work on [^(]*\([^)]*\)) ended is not recorded", r"\1 was completed"
    ),
    "a sentence of no form": add(" The client was pleased."),
    "a finding from nowhere": add(" The left eardrum showed a perforation."),
    "an assurance from nowhere": add(" Afterwards no wax was left in either ear."),
    "both where one has it": lambda p: _in_brief(p, "looked normal in the right ear", "looked normal in both ears"),
}


@cache
def made(seed: int) -> tuple[dict[str, Any], dict[str, Any], Page]:
    raw = marked(seed)
    bundle = bundle_of(raw)
    return raw, bundle, page_of(bundle)


@pytest.mark.parametrize("name", list(MUTANTS))
def test_every_mutant_is_caught(name: str) -> None:
    changed = 0
    for seed in SEEDS:
        raw, bundle, whole = made(seed)
        page = copy.deepcopy(whole)
        if MUTANTS[name](page):
            changed += 1
            assert faults(raw, bundle, read_html(html_of(page).encode())), f"seed {seed}"
        if changed == 6:
            break
    assert changed, "no letter was changed"
