"""Records at random whose every coded word is a token, so that it can be found again beside a drawing.

The codes are real ones, read from the term maps, so that marks are drawn; what judges the drawings reads none of this.
"""

from __future__ import annotations

import csv
import random
from functools import cache
from pathlib import Path
from typing import Any

Raw = dict[str, Any]
TERMS = Path(__file__).parents[3] / "mappings" / "terms"
OWN = next(
    row.split(",")[1]
    for row in (TERMS.parent / "systems.csv").read_text(encoding="utf-8").splitlines()
    if row.startswith("own,")
)
FIELDS = {
    "contents": "contents",
    "canal": "canal",
    "drum": "drum",
    "outer_ear": "outer-ear",
    "mastoid_cavity": "cavity",
}
ANSWERS = ("normal", "not seen", "not examined")
DOUBTS = ("present", "present", "present", "suspected", "absent", "past", "unread")
THIRDS = (
    "third-outer",
    "third-superficial",
    "third-middle",
    "third-inner",
    "third-deep",
    "third-at-drum",
    "third-whole",
)
WALLS = ("wall-anterior", "wall-posterior", "wall-superior", "wall-inferior", "wall-all")
QUARTERS = (
    "anterosuperior",
    "anteroinferior",
    "posteroinferior",
    "posterosuperior",
    "anterior",
    "posterior",
    "superior",
)
PARTS = tuple(f"part-{q}" for q in (*QUARTERS, "inferior", "central", "marginal", "tensa", "flaccida", "whole"))
AMOUNTS = ("none", "minimal", "small", "moderate", "heavy", "excess", "impacted", "occluding", "seen")


@cache
def concepts(kind: str) -> tuple[str, ...]:
    found = []
    for path in sorted(TERMS.glob("*.csv")):
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        found += [r["concept"] for r in csv.DictReader(lines) if r.get("kind") == kind and r.get("concept")]
    return tuple(dict.fromkeys(found))


class Maker:
    """Makes records; `tokens` counts up, so that no word occurs twice in one record."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.tokens = 0

    def often(self, share: float = 0.5) -> bool:
        return self.random.random() < share

    def term(self, concept: str, assertion: str | None = None) -> Raw:
        self.tokens += 1
        word = f"Q{self.tokens:03d}Z"
        coded = {"text": word, "codings": [{"system": OWN, "code": concept, "display": word}]}
        if assertion == "unread":
            return {"text": word}
        return {**coded, **({"assertion": assertion} if assertion else {})}

    def visit(self) -> Raw:
        raw = bare()
        for ear in ("right", "left"):
            stages = {stage: self.examination() for stage in ("before", "after") if self.often(0.7)}
            if stages and self.often(0.9):
                raw[ear] = stages
        return raw

    def examination(self) -> Raw:
        seen: Raw = {}
        if self.often(0.4):
            views: tuple[Raw, ...] = (
                {"achieved": "full"},
                {"achieved": "partial"},
                {"achieved": "none"},
                {"answer": ANSWERS[2]},
            )
            seen["view"] = dict(self.random.choice(views))
            if seen["view"].get("achieved") != "full" and self.often():
                seen["view"]["reason"] = self.term("view-reason-wax")
        if self.often(0.7):
            seen["wax"] = self.wax()
        for field, kind in FIELDS.items():
            if self.often(0.5 if field in ("canal", "drum") else 0.2):
                seen[field] = self.part(field, kind)
        return seen or {"view": {"achieved": "full"}}

    def wax(self) -> Raw:
        if self.often(0.2):
            return {"answer": self.random.choice(ANSWERS[1:])}
        wax: Raw = {"amount": self.term(f"wax-{self.random.choice(AMOUNTS)}")}
        if self.often():
            wax["percent"] = self.random.randrange(0, 101)
        return {**wax, **({"place": place} if (place := self.place(drum=False)) else {})}

    def part(self, field: str, kind: str) -> Raw:
        if self.often(0.35):
            part: Raw = {"answer": self.random.choice(ANSWERS)}
            if part["answer"] != "normal" and self.often():
                part["reason"] = self.term("view-reason-wax")
            return part
        part = {"findings": [self.finding(field, kind) for _ in range(self.random.choice((1, 1, 2, 3, 5)))]}
        if field == "drum" and self.often(0.4):
            part["seen"] = self.random.choice(("whole", "partly"))
        return part

    def finding(self, field: str, kind: str) -> Raw:
        term = self.term(self.random.choice(concepts(kind)), self.random.choice(DOUBTS))
        found: Raw = {"term": term}
        if self.often(0.6) and (place := self.place(drum=field == "drum")):
            found["place"] = place
        if self.often(0.2):
            found["percent"] = self.random.randrange(0, 101)
        return found

    def place(self, *, drum: bool) -> Raw:
        place: Raw = {}
        if not drum and self.often(0.6):
            place["third"] = self.term(self.random.choice(THIRDS))
        elif not drum and self.often(0.2):
            place["depth"] = {"value": self.random.randrange(0, 36), "unit": "mm"}
        if self.often(0.3):
            first = self.random.randrange(1, 13)
            place["clock_from"] = first
            if self.often(0.6):
                place["clock_to"] = (first + self.random.randrange(0, 6) - 1) % 12 + 1
        elif drum and self.often(0.7):
            place["parts"] = [self.term(self.random.choice(PARTS))]
        elif not drum and self.often(0.6):
            place["walls"] = [self.term(self.random.choice(WALLS))]
        return place


def bare() -> Raw:
    """A record that says nothing of any ear."""
    return {
        "number": "T-1",
        "client": {"legal_name": {"family": "Ash", "given": ["Fern"]}, "birth_date": "1950-02-03"},
        "practitioners": [{"key": "JM", "name": {"family": "Moss"}, "role": "Ear-care practitioner"}],
        "start": "2026-11-03T10:15+00:00",
        "reasons": ["blocked ear"],
    }
