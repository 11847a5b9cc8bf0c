"""Notes of clinical rules are told together; what is worse, what needs attention, and a few of them stand in full."""

from __future__ import annotations

import io

from bridge.issues import Issue, Report, Severity, Where
from bridge.report.as_text import write_report
from bridge.report.notes import FEW, MOST

CODES = [f"C5{n:02}" for n in range(40, 40 + MOST + 3)]


def note(
    code: str, row: int, severity: Severity = Severity.information, kind: str = "business-rule", **more: object
) -> Issue:
    where = Where(file="visits.csv", row=row, heading="Method")
    return Issue(code, f"What {code} says.", where, "", severity, kind, f"{code}:fires", **more)  # type: ignore[arg-type]


def told(issues: list[Issue], verbose: bool = False) -> str:
    stream = io.StringIO()
    write_report(Report(issues), stream, verbose)
    return stream.getvalue()


def test_many_notes_get_a_line_each_and_are_counted() -> None:
    text = told([note(code, row) for code in CODES for row in range(1, 4)])
    assert f"{3 * len(CODES)} notes of {len(CODES)} clinical rules" in " ".join(text.split())
    assert "says." not in text
    assert sum(line.startswith("C5") for line in text.splitlines()) == MOST
    assert "   9  of 3 other rules" in text
    assert max(map(len, text.splitlines())) <= 80


def test_all_of_it_with_verbose() -> None:
    text = told([note(code, 1) for code in CODES], verbose=True)
    assert all(f"What {code} says." in text for code in CODES)


def test_a_few_notes_stand_in_full() -> None:
    text = told([note(code, 1) for code in CODES[:FEW]])
    assert all(f"What {code} says." in text for code in CODES[:FEW])


def test_warnings_and_what_needs_attention_stand_in_full() -> None:
    notes = [note(code, 1) for code in CODES]
    text = told([*notes, note("C566", 2, Severity.warning), note("C201", 3, attention=True)])
    assert "What C566 says." in text
    assert "What C201 says." in text
    assert "What C545 says." not in text


def test_red_flags_that_could_not_be_decided_come_first_and_say_so() -> None:
    open_flag = Issue("C201", "Not recorded.", Where(), "", Severity.information, "informational", "C201:asks:x")
    lines = told([*(note(code, row) for code in CODES for row in (1, 2)), open_flag]).splitlines()
    first = next(line for line in lines if line[:2] == "C2" or line[:2] == "C5")
    assert first.startswith("C201     1  not decided: ")


def test_what_the_practice_changed_of_the_rules_is_never_folded_away() -> None:
    changes = [note(f"C59{n}", 1, kind="informational") for n in (1, 3)]
    text = told([*(note(code, 1) for code in CODES), *changes])
    assert "What C591 says." in text
    assert "What C593 says." in text
    assert "not decided" not in text


def test_a_flag_that_a_reason_answers_says_so() -> None:
    answered = Issue("C213", "Weak.", Where(), "", Severity.information, "business-rule", "C213:answered")
    lines = told([*(note(code, row) for code in CODES for row in (1, 2)), answered]).splitlines()
    assert any(line.startswith("C213     1  answered by a reason: ") for line in lines)
