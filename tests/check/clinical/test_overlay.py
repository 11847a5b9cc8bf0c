"""What a practice may change of the rules: never silently, never looser, never without a reason."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from bridge.check.clinical import ClinicalRule, issues_of, judge
from bridge.check.clinical.load import library
from bridge.check.clinical.overlay import own_rules
from bridge.check.clinical.rulebook import RuleBook
from bridge.coding import code_visit, load_term_maps
from bridge.errors import MappingError
from bridge.issues import Severity, rule_of
from bridge.visit import Visit
from tests.check.clinical.refused import RULE, cases, folder, written

MAPS = load_term_maps()
SHIPPED = [
    RULE,
    {**RULE, "code": "C202", "severity": "error"},
    {**RULE, "code": "C203", "severity": "information", "status": "memory"},
    {**RULE, "code": "C204", "flag": "RF01", "urgency": "immediate"},
    {**RULE, "code": "C205", "regions": ["us"]},
]
OWN = {
    **RULE,
    "code": "C901",
    "title": "A rule of ours",
    "message": "We look at the {ear} ear twice.",
    "do": "Look twice.",
}


def book(tmp_path: Path, **practice: Any) -> RuleBook:
    """The rules of a practice whose file has these parts."""
    shipped = library(folder(tmp_path / "shipped", rules=written(SHIPPED)))
    (tmp_path / "clinical").mkdir()
    text = "".join(part if isinstance(part, str) else _part(name, part) for name, part in practice.items())
    (tmp_path / "clinical" / "ours.yaml").write_text(text, encoding="utf-8")
    return own_rules(tmp_path, shipped)


def _part(name: str, listed: list[Any]) -> str:
    return written(listed).replace("rules:", f"{name}:", 1)


def visit(start: str = "2026-05-03") -> Visit:
    made = {"number": "V1", "start": start, "client": {"legal_name": {"family": "Rowe"}}}
    return code_visit(Visit.model_validate({**made, "right": {"before": {"drum": ["perforation"]}}}), MAPS)[0]


def fired(rules: Sequence[ClinicalRule], start: str = "2026-05-03") -> dict[str, str]:
    return {one.rule.code: one.rule.severity.name for one in judge(visit(start), rules) if one.verdict == "fires"}


AS_SHIPPED = {"C201": "warning", "C202": "error", "C203": "information", "C204": "warning", "C205": "warning"}


def test_a_practice_without_a_folder_has_the_shipped_rules(tmp_path: Path) -> None:
    assert fired(own_rules(tmp_path, library(folder(tmp_path / "shipped", rules=written(SHIPPED))))) == AS_SHIPPED


def test_a_rule_is_switched_off_and_told(tmp_path: Path) -> None:
    rules = book(
        tmp_path, changes=[{"code": "C201", "switch": False, "reason": "We never irrigate.", "by": "Ada Field"}]
    )
    assert fired(rules) == {code: said for code, said in AS_SHIPPED.items() if code != "C201"}
    (note,) = rules.told()
    assert note.message == "Rule C201 is switched off by the practice: We never irrigate (Ada Field)."
    assert (note.rule, note.severity) == ("C591", Severity.information)


@pytest.mark.parametrize("severity", ["error"])
def test_a_rule_is_raised_and_told(severity: str, tmp_path: Path) -> None:
    rules = book(tmp_path, changes=[{"code": "C201", "severity": severity, "reason": "It went wrong once."}])
    assert fired(rules) == {**AS_SHIPPED, "C201": severity}
    assert [i.severity.name for i in issues_of(judge(visit(), rules)) if i.rule == "C201"] == [severity]
    assert [note.message for note in rules.told()] == [
        f"Rule C201 is raised to {severity} by the practice: It went wrong once."
    ]


def test_a_rule_from_memory_may_be_raised_to_a_warning(tmp_path: Path) -> None:
    rules = book(tmp_path, changes=[{"code": "C203", "severity": "warning", "reason": "It went wrong once."}])
    assert fired(rules)["C203"] == "warning"


def test_an_immediate_red_flag_that_is_switched_off_warns(tmp_path: Path) -> None:
    rules = book(tmp_path, changes=[{"code": "C204", "switch": False, "reason": "The doctor looks herself."}])
    assert "C204" not in fired(rules)
    assert [(note.rule, note.severity) for note in rules.told()] == [("C592", Severity.warning)]


@pytest.mark.parametrize(
    ("start", "off", "ended"),
    [
        ("2026-03-31", False, []),
        ("2026-04-01", True, []),
        ("2026-04-01T00:00+01:00", True, []),
        ("2026-06-30T23:59+01:00", True, []),
        ("2026-07-01", False, ["C593"]),
        ("2026-06", True, []),
        ("2026-03", False, []),
        ("2026", False, ["C593"]),
    ],
)
def test_a_change_holds_on_its_days_by_the_visit(start: str, off: bool, ended: list[str], tmp_path: Path) -> None:
    days = {"since": date(2026, 4, 1), "until": date(2026, 6, 30)}
    rules = book(tmp_path, changes=[{"code": "C201", "switch": False, "reason": "The pump is away.", **days}])
    assert ("C201" not in fired(rules, start)) == off
    assert [i.rule for i in rules.ended(start)] == ended
    assert [note.message for note in rules.told()] == [
        "Rule C201 is switched off by the practice from 2026-04-01 until 2026-06-30: The pump is away."
    ]


def test_own_rules_stand_beside_the_shipped_ones_with_a_page(tmp_path: Path) -> None:
    own = {**OWN, "if": ["ours"], "sources": [{"id": "our-policy", "section": "3"}]}
    rules = book(
        tmp_path,
        groups="groups:\n  our-holes: [holes]\n",
        questions="questions:\n  ours: {asks: whether, terms: {in: [ear.before.drum.findings], mean: [our-holes]}}\n",
        sources="sources:\n  our-policy: {title: Policy of the practice, edition: May 2026}\n",
        rules=[own],
    )
    assert fired(rules) == {**AS_SHIPPED, "C901": "warning"}
    (found,) = [i for i in issues_of(judge(visit(), rules)) if i.rule == "C901"]
    assert (found.message, found.help) == ("We look at the right ear twice.", "Look twice.")
    page = rule_of("C901")
    assert page
    assert (page.title, page.trade) == ("A rule of ours", True)
    assert page.source == "Policy of the practice, May 2026, 3"


def test_rules_of_other_regions_are_neither_judged_nor_told(tmp_path: Path) -> None:
    rules = book(tmp_path, changes=[{"code": "C205", "switch": False, "reason": "We are in the north."}])
    assert len(rules.told()) == 1
    assert "C205" not in {rule.code for rule in rules.of_region("uk")}
    assert rules.of_region("uk").told() == []
    assert len(rules.of_region("us").told()) == 1


def refused(tmp_path: Path, **practice: Any) -> str:
    with pytest.raises(MappingError) as caught:
        book(tmp_path, **practice)
    return caught.value.message


@pytest.mark.parametrize("case", cases("changes"), ids=lambda case: f"{case['says'][:50]} {str(case['change'])[:30]}")
def test_a_change_is_refused(case: dict[str, Any], tmp_path: Path) -> None:
    change = case["change"]
    if not isinstance(change, dict):
        assert "ours.yaml, line 2: is no change" in refused(tmp_path, changes=f"changes:\n  - {change}\n")
        return
    message = refused(tmp_path, rules=[OWN], changes=[change])
    text = (tmp_path / "clinical" / "ours.yaml").read_text(encoding="utf-8").splitlines()
    at = case.get("at", "reason" if "reason" in case["says"] else "code")
    start = text.index("changes:")
    line = next(n for n, told in enumerate(text[start:], start + 1) if told[4:].startswith(f"{at}:"))
    assert f"ours.yaml, line {line}: " in message
    assert case["says"] in message


def test_a_rule_is_changed_once(tmp_path: Path) -> None:
    off = {"code": "C201", "switch": False, "reason": "We never irrigate."}
    assert "the rule C201 is changed twice" in refused(tmp_path, changes=[off, off])


def test_own_rules_have_codes_of_their_own(tmp_path: Path) -> None:
    assert "the code is none of C900 to C999" in refused(tmp_path, rules=[{**OWN, "code": "C206"}])


def test_own_rules_from_memory_never_are_errors(tmp_path: Path) -> None:
    assert "may warn, and never be an error" in refused(
        tmp_path, rules=[{**OWN, "severity": "error", "status": "memory"}]
    )


def test_own_questions_call_no_function(tmp_path: Path) -> None:
    told = "a practice's own question calls no function"
    question = {"asks": "whether", "by": "no_surgery"}
    assert told in refused(tmp_path, rules=[{**OWN, "if": [question]}])


def test_own_questions_of_a_file_call_no_function(tmp_path: Path) -> None:
    text = "questions:\n  ours: {asks: whether, by: no_surgery}\n"
    assert "line 2: a practice's own question calls no function" in refused(tmp_path, questions=text)


def test_a_shipped_question_cannot_be_changed(tmp_path: Path) -> None:
    questions = "questions:\n  dry: {asks: whether, recorded: [ear.note]}\n"
    assert "the question “dry” stands twice" in refused(tmp_path, questions=questions)


def test_a_shipped_group_cannot_be_changed(tmp_path: Path) -> None:
    assert "the name “holes” is taken already" in refused(tmp_path, groups="groups:\n  holes: [drum-intact]\n")


def test_a_file_has_nothing_else_at_its_top(tmp_path: Path) -> None:
    assert "line 1: `change` is nothing that such a file has at its top" in refused(tmp_path, changes="change: []\n")


def test_all_faults_of_the_practice_are_told_at_once(tmp_path: Path) -> None:
    message = refused(tmp_path, rules=[{**OWN, "severity": "dire"}], changes=[{"code": "C201", "switch": False}])
    assert len(message.splitlines()) == 2


def test_the_example_of_a_new_practice_folder_is_taken(tmp_path: Path) -> None:
    from bridge.check.clinical import load_rules
    from bridge.practice.new_folder import folder_files

    note = folder_files({})["clinical/README.txt"]
    (tmp_path / "clinical").mkdir()
    example = "".join(line[2:] for line in note.splitlines(keepends=True) if line.startswith("# "))
    (tmp_path / "clinical" / "ours.yaml").write_text(example, encoding="utf-8")
    assert len(load_rules(folder=tmp_path).told()) == 1
