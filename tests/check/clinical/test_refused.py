"""A file with a fault is refused when it is loaded, with its name, its line and the reason."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest

from bridge.check.clinical.load import library
from bridge.errors import MappingError
from bridge.rule_file import MAX_BYTES
from tests.check.clinical.refused import RULE, cases, folder, written


def refused(root: Path) -> str:
    with pytest.raises(MappingError) as caught:
        library(root)
    assert caught.value.help
    return caught.value.message


def test_the_good_files_are_taken(tmp_path: Path) -> None:
    found = library(folder(tmp_path))
    assert [rule.code for rule in found.rules] == ["C201"]
    assert set(found.questions) == {"dry", "aspirated", "far"}


def _name(case: dict[str, Any]) -> str:
    return str(case.get("says"))[:60]


@pytest.mark.parametrize("case", cases("rules"), ids=_name)
def test_a_rule_is_refused(case: dict[str, Any], tmp_path: Path) -> None:
    changed = case.get("with", {})
    gone = {case.get("without"), case.get("and_without")}
    rule = {key: value for key, value in {**RULE, **changed}.items() if key not in gone}
    text = written([rule])
    at = case.get("at", next(iter(changed), next(iter(rule))))
    line = next(n for n, told in enumerate(text.splitlines(), 1) if told[4:].startswith(f"{at}:"))
    message = refused(folder(tmp_path, rules=text))
    assert f"rules.yaml, line {line}: " in message
    assert case["says"] in message


@pytest.mark.parametrize("case", cases("files"), ids=_name)
def test_a_file_is_refused(case: dict[str, Any], tmp_path: Path) -> None:
    message = refused(folder(tmp_path, **{f"{case['in']}_more": case["text"]}))
    assert [said for said in case["says"] if said not in message] == []
    assert len(message.splitlines()) >= len(case["says"])
    assert all(line.startswith(f"{case['in']}_more.yaml") for line in message.splitlines())


def test_a_code_stands_once(tmp_path: Path) -> None:
    message = refused(folder(tmp_path, rules_more=written([RULE])))
    assert message == "rules_more.yaml, line 2: the code C201 stands twice."


def test_faults_of_several_files_are_told_together(tmp_path: Path) -> None:
    wrong = written(
        [{**RULE, "code": "C202", "severity": "dire", "status": "sure"}, {**RULE, "code": "C203", "each": "x"}]
    )
    message = refused(folder(tmp_path, groups_more="groups: {a: [b]}\n", rules_more=wrong))
    assert [line.partition(":")[0] for line in message.splitlines()] == [
        "groups_more.yaml, line 1", "rules_more.yaml, line 4", "rules_more.yaml, line 12", "rules_more.yaml, line 17",
    ]  # fmt: skip


def test_a_rule_is_not_blamed_for_its_question(tmp_path: Path) -> None:
    questions = "questions:\n  wet: {asks: whether, terms: {in: [ear.knees], mean: [holes]}}\n"
    rule = written([{**RULE, "code": "C202", "if": ["wet"]}])
    message = refused(folder(tmp_path, questions_more=questions, rules_more=rule))
    assert message == "questions_more.yaml, line 2: a visit has no field “ear.knees”."


def test_all_faults_of_a_rule_are_told(tmp_path: Path) -> None:
    wrong = {
        **RULE,
        "code": "C900",
        "severity": "dire",
        "each": "ear.knees",
        "if": ["rain"],
        "at": 3,
        "reviewed": "soon",
    }
    message = refused(folder(tmp_path, rules=written([wrong])))
    assert [line.partition(":")[0] for line in message.splitlines()] == [
        f"rules.yaml, line {line}" for line in (2, 4, 5, 7, 13, 14)
    ]


@pytest.mark.parametrize("kind", ["groups", "questions", "rules"])
def test_a_large_file_is_refused(kind: str, tmp_path: Path) -> None:
    message = refused(folder(tmp_path, **{f"{kind}_more": "#" * (MAX_BYTES + 1)}))
    assert message == f"{kind}_more.yaml is larger than 1 MB."


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    root = folder(tmp_path)
    (root / "rules" / "bytes.yaml").write_bytes(b"rules: \xff\xfe")
    assert refused(root) == "bytes.yaml is not readable YAML in UTF-8."


@pytest.mark.parametrize("text", ["[" * 50_000, "{a: " * 50_000, "- " * 50_000, "a:\n b:\n", "? [x]\n: y\n"])
def test_a_hostile_file_is_refused(text: str, tmp_path: Path) -> None:
    assert refused(folder(tmp_path, rules_more=text)).startswith("rules_more.yaml")


def test_groups_that_double_at_each_step_are_each_looked_at_once(tmp_path: Path) -> None:
    names = [f"g{number}" for number in range(60)]
    doubled = [f"  {name}: [{inner}, {inner}]" for inner, name in itertools.pairwise(names)]
    found = library(folder(tmp_path, groups_more="\n".join(["groups:", "  g0: [drum-intact]", *doubled])))
    assert found.meanings["g59"] == {"drum-intact"}


def test_a_chain_of_groups_has_an_end(tmp_path: Path) -> None:
    chain = [f"  g{number}: [g{number + 1}]" for number in range(3000)]
    text = "\n".join(["groups:", *chain, "  g3000: [drum-intact]"])
    assert "groups stand in groups more than 10 deep" in refused(folder(tmp_path, groups_more=text))


def test_there_are_enough_cases() -> None:
    assert len(cases("rules")) + sum(len(case["says"]) for case in cases("files")) + len(cases("changes")) >= 120
