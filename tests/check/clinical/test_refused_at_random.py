"""Whatever stands in a practice's file: it is taken, or refused with a MappingError; what is taken can be judged.

Shipped files are broken in one place each, and read as a practice's own, which may not call functions.
"""

from __future__ import annotations

import os
import random
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from bridge.check.clinical import judge
from bridge.check.clinical.compile_rule import OWN
from bridge.check.clinical.files import Library, RuleFile, read_all, refuse
from bridge.check.clinical.load import library
from bridge.check.clinical.overlay import KEYS
from bridge.data import table_path
from bridge.errors import MappingError
from bridge.rule_file import read_rule_file
from tests.check.clinical.test_cases import visit_of

JUNK: tuple[Any, ...] = (
    None, True, False, 0, -1, 10**30, 1.5, float("inf"), float("nan"), "", "x", "ear", "ear.", ".", "ear.note", "{",
    [], {}, [[]], [{}], {"a": {"b": []}}, {"any": "x"}, {"not": {}}, date(2026, 1, 1), "work.method",
    ["ear", "visit"], "ear.before.wax.percent", ["visit.start", "visit.end"], {"days": -1}, {"days": 10**9}, "item",
)  # fmt: skip
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "15"))
FILES = sorted(path for kind in ("questions", "rules") for path in table_path("clinical", kind).glob("*.yaml"))
VISIT = visit_of({"right": {"before": {"drum": ["perforation"], "wax": "heavy"}, "work": [{"method": "irrigation"}]}})


def without_functions(data: Any) -> Any:
    """The file as a practice could have it: with codes of its own, without questions that call functions."""
    if "questions" in data:
        return {
            "questions": {name: spec for name, spec in data["questions"].items() if "by" not in spec or "later" in spec}
        }
    rules = [{**rule, "code": f"C9{number:02}"} for number, rule in enumerate(data["rules"])]
    return {"rules": [rule for rule in rules if "'by'" not in repr(rule)]}


def places(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [at, *(place for key, one in inner for place in places(one, (*at, key)))]


def broken(data: Any, rng: random.Random) -> Any:
    """The data with one value replaced, taken away, or put under another name."""
    data = deepcopy(data)
    *way, last = rng.choice(places(data)[1:])
    holder = data
    for step in way:
        holder = holder[step]
    if isinstance(holder, dict) and rng.random() < 0.3:
        moved = holder.pop(last)
        if rng.random() < 0.5:
            holder[rng.choice(("x", "terms", "each", "any", "not", "mean", "by"))] = moved
    else:
        holder[last] = deepcopy(rng.choice(JUNK))
    return data


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_broken_file_is_taken_or_refused(path: Path) -> None:
    shipped, data, rng = library(), without_functions(read_rule_file(path)), random.Random(path.stem)
    names = set(data.get("questions", ()))
    before = Library(
        shipped.meanings, {n: q for n, q in shipped.questions.items() if n not in names}, (), shipped.sources
    )
    for _ in range(MANY):
        file = RuleFile(path, broken(data, rng), KEYS)
        try:
            found = read_all([file], before, OWN)
            refuse([file])
        except MappingError:
            continue
        judge(VISIT, found.rules)
