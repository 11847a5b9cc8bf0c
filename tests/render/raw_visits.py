"""Records at random in which every word is a token of its own, so that it can be found again on a page.

Plain data and nothing of the project: what judges a page must not know how the page was made.
"""

from __future__ import annotations

import random
from typing import Any

Raw = dict[str, Any]

PARTS = ("contents", "canal", "drum", "outer_ear", "mastoid_cavity")
ANSWERS = ("normal", "not seen", "not examined")
DOUBTS = ("present", "suspected", "absent", "past")


class Maker:
    """Makes one record; `tokens` counts up, so that no word occurs twice."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.tokens = 0

    def token(self) -> str:
        self.tokens += 1
        return f"Q{self.tokens:03d}Z"

    def often(self, share: float = 0.5) -> bool:
        return self.random.random() < share

    def visit(self) -> Raw:
        raw: Raw = {
            "number": f"T-{self.random.randrange(10_000):04d}",
            "client": {"legal_name": {"family": self.token(), "given": [self.token()]}, "birth_date": "1950-02-03"},
            "practitioners": [{"key": "JM", "name": {"family": "Moss"}, "role": "Ear-care practitioner"}],
            "start": "2026-11-03T10:15+00:00",
            "reasons": [self.token()],
            "cautions": [{"term": self.term(), **({"ear": "left"} if self.often(0.2) else {})}],
            "advice": [self.token()],
        }
        if self.often():
            raw["requests"] = [
                {"action": self.token(), "ear": self.random.choice(("right", "left")), "reason": self.token()},
                {"action": self.token(), "by_when": "2026-12-01"},
            ]
        else:
            raw["no_request"] = self.often()
        for ear in ("right", "left"):
            record = self.ear() if self.often(0.85) else {}
            if record:
                raw[ear] = record
        return raw

    def ear(self) -> Raw:
        ear: Raw = {}
        for stage in ("before", "after"):
            if self.often(0.75):
                ear[stage] = self.examination()
        if self.often():
            ear["work"] = [self.work() for _ in range(self.random.choice((1, 1, 2)))]
        for field in ("symptoms", "impressions", "history"):
            if self.often(0.4):
                ear[field] = [{"term": self.term(), "note": self.token()}]
        if self.often(0.3):
            ear["hearing_change"] = self.token()
        if self.often(0.3):
            ear["note"] = self.token()
        return ear

    def term(self) -> Raw:
        return {"text": self.token(), "assertion": self.random.choice(DOUBTS)}

    def examination(self) -> Raw:
        seen: Raw = {}
        if self.often():
            seen["view"] = self.random.choice(
                ({"achieved": "full"}, {"achieved": "none", "reason": self.token()}, {"answer": "not examined"})
            )
        if self.often():
            seen["wax"] = self.random.choice(
                ({"amount": self.token(), "colour": [self.token()]}, {"answer": "not seen", "reason": self.token()})
            )
        for part in PARTS:
            if self.often(0.4):
                seen[part] = self.part()
        if not seen or self.often(0.2):
            seen["note"] = self.token()
        return seen

    def part(self) -> Raw:
        if self.often():
            return {"findings": [{"term": self.term()} for _ in range(self.random.choice((1, 2)))]}
        answer = self.random.choice(ANSWERS)
        return {"answer": answer, **({"reason": self.token()} if answer != "normal" and self.often() else {})}

    def work(self) -> Raw:
        return {
            "method": self.token(),
            "why": self.token(),
            "instruments": [self.token()],
            "products": [{"name": self.token(), "when": self.random.choice(("used in clinic", "advised"))}],
            "tolerance": self.token(),
            "events": [{"term": self.term(), "done": self.token()}],
            "outcome": self.token(),
            "outcome_reason": self.token(),
            "note": self.token(),
        }
