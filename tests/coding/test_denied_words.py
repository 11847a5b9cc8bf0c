"""Every way to deny, doubt, date or half deny, with words of every kind of finding, from the cell to the coded visit.

Seeded and random. What each way must come to is judged by the tables of this file alone, written from common practice
of the trade: nothing that reads phrases is asked. `VISIT_BRIDGE_MANY` sets how many words of each kind are taken.
"""

from __future__ import annotations

import os
import random
import re
from pathlib import Path

import pytest

from bridge.coding import load_term_maps
from bridge.data import load_csv, table_path
from tests.coding.words_told import Told, told

SEED = 20261125
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "14"))

FIELDS = {
    "symptom": "right.symptoms",
    "drum": "right.before.drum",
    "canal": "right.before.canal",
    "contents": "right.before.contents",
    "outer-ear": "right.before.outer_ear",
    "cavity": "right.before.mastoid_cavity",
    "event": "right.work.events",
    "past-event": "right.history",
    "impression": "right.impressions",
    "caution": "cautions",
}
SEEN_NOW = ("drum", "canal", "contents", "outer-ear", "cavity", "impression")

WAYS: dict[str, tuple[str, ...]] = {
    "denied": (
        "no {}", "nil {}", "not {}", "without {}", "no sign of {}", "no evidence of {}", "neg for {}",
        "absence of {}", "no {} seen", "{} -ve", "{} absent", "{}: none", "{}: no", "{} - nil", "-ve {}",
        "No {}.",
    ),
    "denied by the client": ("denies {}", "denied {}", "never {}", "never had {}", "never any {}"),
    "denied of before": (
        "no hx of {}", "no history of {}", "no previous {}", "no prior {}", "no past {}", "no h/o {}",
        "nil previous {}",
    ),
    "doubted": (
        "?{}", "? {}", "query {}", "possible {}", "poss {}", "r/o {}", "likely {}", "cannot exclude {}",
        "could be {}", "{}?", "{} ?", "{} suspected", "{} not excluded", "maybe {}", "suspicion of {}",
        "{} (?)",
    ),
    "past": (
        "old {}", "previous {}", "h/o {}", "healed {}", "no longer {}", "resolved {}", "{} resolved",
        "{} gone", "{} healed", "{} in the past", "{} (old)", "no more {}", "past {}", "{} settled",
    ),
    "half denied": (
        "not much {}", "not very {}", "not always {}", "not just {}", "not only {}", "no new {}",
        "no constant {}", "no large {}", "no severe {}", "no obvious {}", "no significant {}", "no worse {}",
        "not so {}", "no further {}", "no recent {}", "not completely {}", "no mild {}", "no longer very {}",
        "not yet {}", "not as {}", "hardly any {}", "barely {}", "no visible {}", "no active {}",
        "not {} all the time", "not often {}", "no heavy {}", "no other {}", "not really {}", "not clearly {}",
        "no definite {}", "no residual {}", "scarcely {}", "no real {}", "not quite {}", "never much {}",
        "denies severe {}", "nil significant {}", "without much {}", "no {} ++", "no longer constant {}",
    ),
}  # fmt: skip

MAY: dict[str, frozenset[str]] = {
    "denied": frozenset(("absent", "")),
    "denied by the client": frozenset(("absent", "")),
    "denied of before": frozenset(("absent", "")),
    "doubted": frozenset(("suspected", "")),
    "past": frozenset(("past", "")),
    "half denied": frozenset(("",)),
}
"""What the words may come out as, in any field; the empty word is: not read, kept as words."""


def words_of(kind: str) -> list[str]:
    rows = [row for path in sorted(table_path("terms").glob("*.csv")) for row in load_csv(path)]
    return [word for row in rows if row.get("concept") and row["kind"] == kind for word in row["words"].split("|")]


def bare(words: str) -> str:
    return " ".join(re.sub(r"[^a-z0-9+/?%]+", " ", words.casefold()).split())


ALL = {kind: {bare(word) for word in words_of(kind)} for kind in FIELDS}
EVERY = frozenset().union(*ALL.values())


def cells(kind: str, way: str) -> list[tuple[str, str]]:
    """Cells of a way with the word in each; not those that are a word of the trade themselves ("no light reflex")."""
    chance = random.Random(f"{SEED} {kind} {way}")
    known = words_of(kind)
    found = []
    for pattern in WAYS[way]:
        found += [(pattern.format(word), word) for word in chance.sample(known, min(MANY, len(known)))]
    return [(cell, word) for cell, word in found if bare(cell) not in EVERY]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", FIELDS)
def test_nothing_comes_out_as_more_than_it_says(kind: str, way: str, tmp_path: Path) -> None:
    written = cells(kind, way)
    assert len(written) > 30
    may = MAY[way]
    if way in ("denied by the client", "denied of before") and kind in SEEN_NOW:
        may = MAY["half denied"]
    found = told(tmp_path, load_term_maps(), FIELDS[kind], [cell for cell, _ in written])
    wrong = [
        (cell, fact.concept, fact.assertion)
        for (cell, _), got in zip(written, found, strict=True)
        for fact in got.facts
        if fact.assertion not in may
    ]
    assert wrong == []
    assert [cell for (cell, _), got in zip(written, found, strict=True) if not told_of(got)] == []


def told_of(cell: Told) -> bool:
    """Whether a cell became something with a meaning, or an issue says that it did not."""
    return bool(cell.rules) or any(fact.concept for fact in cell.facts) or bool(cell.answers)


@pytest.mark.parametrize("kind", FIELDS)
def test_plain_denials_and_doubts_are_read(kind: str, tmp_path: Path) -> None:
    """Else a reader that keeps everything as words would pass."""
    for way, least in (("denied", 0.4), ("doubted", 0.5)):
        written = cells(kind, way)
        found = told(tmp_path, load_term_maps(), FIELDS[kind], [cell for cell, _ in written])
        read = [got for got in found if any(fact.concept and fact.assertion in MAY[way] - {""} for fact in got.facts)]
        assert len(read) > least * len(written), (way, len(read), len(written))
