"""Questions of methods: every meaning handed to them is known, and what is seen today goes before what was told."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.check.clinical import judge, load_rules
from bridge.check.clinical.load import library
from bridge.data import load_yaml, table_path
from tests.check.clinical.test_cases import verdict, visit_of

FILES = ("methods", "irrigation", "microsuction", "instruments", "softeners", "aao-hns")
OF_MEANINGS = {"means", "unclear", "instruments", "whole", "recent", "none"}


def _handed() -> list[tuple[str, str, Any]]:
    found = []
    for name in FILES:
        for question, spec in load_yaml(table_path("clinical", "questions", f"{name}.yaml"))["questions"].items():
            found += [(question, key, value) for key, value in (spec.get("with") or {}).items()]
    return found


def test_every_meaning_handed_to_a_function_is_one_of_the_term_maps() -> None:
    meanings = library().meanings
    for question, key, value in _handed():
        pairs = value if key == "pairs" else {}
        named = list(value) if key in OF_MEANINGS else [*pairs, *(one for listed in pairs.values() for one in listed)]
        unknown = [one for one in named if one not in meanings or meanings[one] != {one}]
        assert not unknown, question


@pytest.mark.parametrize(
    ("said", "drum", "history", "cautions"),
    [
        ("fires", ["perforation"], ["none"], ["none"]),
        ("quiet", ["intact"], [], [{"term": "perforation", "ear": "right"}]),
        ("fires", "not seen (wax)", ["none"], [{"term": "perforation", "ear": "right"}]),
        ("quiet", "not seen (wax)", ["none"], [{"term": "perforation", "ear": "left"}]),
        ("asks", "not seen (wax)", [], [{"term": "perforation", "ear": "left"}]),
        ("asks", "not seen (wax)", ["no perforation"], [{"term": "perforation", "ear": "right"}]),
        ("asks", ["no perforation", "perforation"], ["none"], []),
    ],
)
def test_the_drum_seen_today_decides_and_a_general_none_hides_nothing(
    said: str, drum: Any, history: list[Any], cautions: list[Any]
) -> None:
    rule = next(rule for rule in load_rules() if rule.code == "C240")
    ear = {"history": history, "before": {"drum": drum}, "work": [{"method": "irrigation"}]}
    assert verdict(judge(visit_of({"cautions": cautions, "right": ear}), [rule])) == said


@pytest.mark.parametrize(
    ("said", "work"),
    [
        ("fires", {"method": "irrigation"}),
        ("fires", {"method": "combination", "irrigation": {"tip": "new"}}),
        ("fires", {"method": "wax removal", "instruments": ["irrigator"]}),
        ("asks", {"method": "combination", "instruments": ["hook"]}),
        ("asks", {"method": "a word of nobody"}),
        ("quiet", {"method": "microsuction", "instruments": ["irrigator"]}),
        ("quiet", {"method": "irrigation", "outcome": "not attempted"}),
        ("fires", {"method": "irrigation", "outcome": "stopped"}),
    ],
)
def test_what_was_done_is_read_from_method_instruments_and_settings(said: str, work: dict[str, Any]) -> None:
    rule = next(rule for rule in load_rules() if rule.code == "C240")
    visit = visit_of({"left": {"before": {"drum": ["perforation"]}, "work": [work]}})
    assert verdict(judge(visit, [rule])) == said
