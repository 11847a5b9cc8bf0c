"""Visits at random in which most free words are marks that say of themselves which ear they belong to.

`Rq17z` stands in the right ear's record alone, `Lq18z` in the left one's, `Nq19z` in neither. The rest are words of the
term maps, and the very same may stand on both sides.
"""

from __future__ import annotations

import json
import random
import re
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build import build_document
from bridge.fhir.write_json import dumps
from bridge.visit import Visit
from tests.generate import ASKS, PEOPLE, WORDS, visit

MARK = re.compile(r"[RLN]q\d+z")
_FREE = {*WORDS, *PEOPLE, *ASKS}
_SIDES = {"right": "R", "left": "L"}


class _Marks:
    def __init__(self, rng: random.Random) -> None:
        self.rng, self.number = rng, 0

    def next(self, side: str) -> str:
        self.number += 1
        return f"{side}q{self.number}z"

    def mark(self, value: Any, side: str) -> Any:
        if isinstance(value, dict):
            side = _SIDES.get(value.get("ear", ""), side)
            if "codings" in value and self.rng.random() < 0.5 and "assertion" not in value:
                return {**value, "text": self.next(side)}
            return {key: self.mark(held, _SIDES.get(key, side)) for key, held in value.items()}
        if isinstance(value, list | tuple):
            return [self.mark(held, side) for held in value]
        return self.next(side) if isinstance(value, str) and value in _FREE else value


def marked(seed: int) -> dict[str, Any]:
    """The raw visit of a seed."""
    rng = random.Random(seed)
    fill = 0.5 + 0.45 * (seed % 5) / 5
    made = visit(rng, fill)
    for _ in range(4):
        if made.right and made.left and made.right.before and (made.left.before or seed % 3):
            break
        made = visit(rng, fill)
    raw: dict[str, Any] = _Marks(rng).mark(made.model_dump(mode="json", exclude_none=True), "N")
    return raw


def bundle_of(raw: dict[str, Any], kind: str = "summary") -> dict[str, Any]:
    """The document of a raw visit, written and read again."""
    made = build_document(Visit.model_validate(raw), UUID(int=7), ZoneInfo("Europe/London"), kind)
    read: dict[str, Any] = json.loads(dumps(made), parse_float=Decimal)
    return read
