"""Rules of outcome, findings, places and sides: what holds of all of them, beside their cases.

The clock face is written here from the geometry: who looks into a right ear from outside has the nose on the right.
"""

from __future__ import annotations

import random
from typing import Any

import pytest
import yaml

from bridge.check.clinical import judge, load_rules
from bridge.check.clinical.fields import type_of
from bridge.check.clinical.load import library
from bridge.data import load_csv, table_path
from tests.check.clinical.test_cases import FOLDER, verdict, visit_of
from tests.generate import visit

MINE = [rule for rule in load_rules() if "C450" <= rule.code < "C500"]
RULES = {rule.code: rule for rule in MINE}
OTHER = {"right": "left", "left": "right", "both": "both"}
FILES = sorted(path for path in FOLDER.glob("C4*.yaml") if path.stem in RULES)
CASES = [
    pytest.param(path.stem, case, id=f"{path.stem}-{number}")
    for path in FILES
    for number, case in enumerate(yaml.safe_load(path.read_text(encoding="utf-8"))["cases"])
]


def mirrored(value: Any) -> Any:
    """The same visit with the ears exchanged: sides, clock positions, and which ear a caution or referral is of."""
    if isinstance(value, list):
        return [mirrored(one) for one in value]
    if not isinstance(value, dict):
        return value
    told = {}
    for key, inner in value.items():
        if key in ("clock_from", "clock_to"):
            told[key] = (12 - inner) % 12 or 12
        elif key == "ear":
            told[key] = OTHER.get(inner, inner)
        else:
            told[OTHER.get(key, key)] = mirrored(inner)
    if "clock_to" in told:
        told["clock_from"], told["clock_to"] = told["clock_to"], told["clock_from"]
    return told


@pytest.mark.parametrize(("code", "case"), CASES)
def test_a_rule_says_the_same_of_the_other_ear(code: str, case: dict[str, Any]) -> None:
    found = judge(visit_of(mirrored(case["visit"])), [RULES[code]])
    assert verdict(found) == case["says"], case["why"]
    if case["says"] == "fires" and "at" in case:
        side, _, rest = case["at"].partition(".")
        assert f"{OTHER.get(side, side)}{'.' if rest else ''}{rest}" in [one.path for one in found]


WALLS = {"roof": 12, "anterior wall": 3, "floor": 6, "posterior wall": 9}
"""Hours of a right ear."""


@pytest.mark.parametrize("ear", ["right", "left"])
@pytest.mark.parametrize("wall", WALLS)
def test_every_hour_against_every_wall(ear: str, wall: str) -> None:
    for hour in range(1, 13):
        as_right = hour if ear == "right" else (12 - hour) % 12 or 12
        apart = min((as_right - WALLS[wall]) % 12, (WALLS[wall] - as_right) % 12)
        place = {"clock_from": hour, "walls": [wall]}
        found = judge(visit_of({ear: {"before": {"wax": {"amount": "mild", "place": place}}}}), [RULES["C494"]])
        assert verdict(found) == ("fires" if apart > 2 else "quiet"), (ear, wall, hour)


PARTS = {
    "anterosuperior": (12, 3),
    "anteroinferior": (3, 6),
    "posteroinferior": (6, 9),
    "posterosuperior": (9, 12),
}
"""Hours of a right ear, of the quadrants."""


@pytest.mark.parametrize("ear", ["right", "left"])
@pytest.mark.parametrize("part", PARTS)
def test_every_hour_against_every_quadrant(ear: str, part: str) -> None:
    first, last = PARTS[part]
    inside = {(hour - 1) % 12 + 1 for hour in range(first % 12 - 1, (last - 1) % 12 + 3)}
    for hour in range(1, 13):
        as_right = hour if ear == "right" else (12 - hour) % 12 or 12
        finding = {"term": "perforation", "place": {"clock_from": hour, "parts": [part]}}
        found = judge(visit_of({ear: {"before": {"drum": {"findings": [finding]}}}}), [RULES["C495"]])
        assert verdict(found) == ("quiet" if as_right in inside else "fires"), (ear, part, hour)


_HANDED = ("more_beside_none", "told_and_denied")


def test_functions_are_handed_names_that_stand_for_something() -> None:
    known = library().meanings
    asked = list(_handed())
    assert len(asked) >= len(_HANDED)
    for given in asked:
        for key in ("mean", "apart"):
            assert set(given.get(key, ())) <= set(known), given
        assert given.get("none", "symptom-none") in known
        for field in (*_listed(given.get("in", ())), *given.get("normal", ())):
            if not field.startswith("item"):
                type_of(field, None)


def _listed(value: Any) -> list[str]:
    return [value] if isinstance(value, str) else list(value)


def _handed() -> Any:
    names = {f"{name}{here}" for name in _HANDED for here in ("", "_here")}
    waiting = [
        yaml.safe_load(path.read_text(encoding="utf-8"))
        for kind in ("questions", "rules")
        for path in sorted(table_path("clinical", kind).glob("*.yaml"))
    ]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            if isinstance(one.get("by"), str) and one["by"] in names:
                yield one["with"]
            waiting.extend(one.values())
        elif isinstance(one, list):
            waiting.extend(one)


def test_every_word_for_an_amount_has_a_band_that_is_one() -> None:
    words = {row["concept"] for row in load_csv(table_path("terms", "wax.csv")) if row["kind"] == "wax-amount"}
    bands = {row["concept"]: row for row in load_csv(table_path("clinical", "wax-bands.csv"))}
    assert set(bands) == words
    for row in bands.values():
        assert 0 <= int(row["least"]) <= int(row["most"]) <= 100
    ranked = sorted((int(row["rank"]), int(row["least"]), int(row["most"])) for row in bands.values() if row["rank"])
    assert [one[1] for one in ranked] == sorted(one[1] for one in ranked)
    assert [one[2] for one in ranked] == sorted(one[2] for one in ranked)


def test_any_visit_is_judged_and_every_message_is_filled() -> None:
    spoke = set()
    for seed in range(150):
        for found in judge(visit(random.Random(seed), fill=0.7), MINE):
            spoke.add(found.rule.code)
            assert "{" not in found.message
            assert found.path
    assert len(spoke) > 15
