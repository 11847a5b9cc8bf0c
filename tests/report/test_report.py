"""Reports: the same issues as text, JSON, CSV and OperationOutcome."""

from __future__ import annotations

import csv
import json
from io import StringIO

import jsonschema_rs
import pytest

from bridge.check.resource import check_resource
from bridge.clinical_caution import clinical_caution
from bridge.fhir.model import second_opinion
from bridge.issues import Issue, LeftAlone, Report, Severity, Where
from bridge.received import check_received
from bridge.report import FORMS, wants_colour, write_report
from bridge.report.as_text import places
from tests.standards import standard_json

ESCAPE = "\x1b"
EXTENSION = "http://hl7.org/fhir/StructureDefinition/operationoutcome-issue"


def told(report: Report, form: str = "text", **options: bool) -> str:
    stream = StringIO()
    write_report(report, stream, form, **options)
    return stream.getvalue()


def an_issue(n: int = 2, cause: str = "date", severity: Severity = Severity.error, **more: object) -> Issue:
    where = Where(file="visits.csv", row=n, column=3, heading="Date", record=f"V{n}")
    return Issue("R101", "A date that is not in the calendar.", where, "Correct it.", severity, "value", cause, **more)


def many() -> Report:
    return Report(
        [
            *(an_issue(n, "word", Severity.warning) for n in range(2, 42)),
            an_issue(7),
            Issue(
                "S101", "Nothing here.", Where(path="Bundle.entry[3].resource.status"), "", Severity.error, "required"
            ),
            Issue("R999", "A remark.", Where(), "", Severity.information, "informational"),
        ],
        {"visits": 14, "ready": 8, "need you": 3, "no letter due": 3},
    )


def test_one_cause_is_told_once_with_its_places() -> None:
    text = told(Report([an_issue(n) for n in range(2, 42)]))
    assert text.count("A date that is not in the calendar.") == 1
    assert "visits.csv, column “Date”: rows 2, 3, 4, 5, 6 and 35 more" in " ".join(text.split())
    assert "40 errors (1 cause)" in text


def test_a_cell_is_told_once_however_many_fields_it_fills() -> None:
    found = [
        Issue("R101", "Bad.", Where(file="a.csv", row=2, heading="Date", path=p), cause="x") for p in ("start", "end")
    ]
    assert "a.csv, column “Date”: row 2\n" in told(Report(found))


def test_places_of_many_kinds_are_counted_together() -> None:
    paths = [Where(path=f"Bundle.entry[{n}]") for n in range(4)]
    rows = [Where(file="a.csv", row=n) for n in range(2, 6)]
    assert places([*paths, *rows], 5) == [
        *(str(path) for path in paths),
        "a.csv: row 2 and 3 more (all with --verbose)",
    ]
    assert places([*rows, *paths], 4) == ["a.csv: rows 2, 3, 4, 5 and 4 more (all with --verbose)"]
    assert len(places([*rows, *paths], None)) == 5


def test_verbose_tells_every_place() -> None:
    text = " ".join(told(Report([an_issue(n) for n in range(2, 42)]), verbose=True).split())
    assert ", ".join(str(n) for n in range(2, 42)) in text
    assert "more" not in text


def test_worst_first_and_figures_last() -> None:
    lines = told(many()).splitlines()
    words = [line.split()[0] for line in lines if line and line[0].isupper()]
    assert words == ["Error", "Error", "Warning", "Note"]
    assert lines[-2:] == [
        "14 visits: 8 ready, 3 need you, 3 no letter due",
        "2 errors, 40 warnings, 1 note (4 causes)",
    ]


def test_help_stands_on_a_line_of_its_own() -> None:
    assert [line.strip() for line in told(Report([an_issue()])).splitlines() if "Correct" in line] == [
        "Do: Correct it."
    ]


def test_conformance_and_trade_stand_apart_when_both_occur(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bridge.report.as_text._is_trade", lambda found: found.rule.startswith("C"))
    trade = Issue("C101", "No side.")
    headings = told(Report([trade, an_issue()])).split("\n")
    assert headings.index("Reading and the standard") < headings.index(
        "The trade: sides, identity, what a record should hold"
    )
    assert [line for line in headings if line == "1 error"] == ["1 error"] * 2
    assert told(Report([trade])).startswith("Error    C101")


def test_what_needs_attention_now_is_told_before_everything_else() -> None:
    flag = Issue("C101", "A flag stands.", severity=Severity.warning, attention=True)
    same = Issue("C101", "Another.", severity=Severity.warning)
    lines = told(Report([an_issue(), same, flag])).split("\n")
    assert lines[:4] == ["Needs attention now", "-------------------", "1 warning", ""]
    assert lines[4] == "Warning  C101  A flag stands."
    assert lines.index("Warning  C101  Another.") > lines.index("Error    R101  A date that is not in the calendar.")
    alone = told(Report([flag])).split("\n")
    assert alone[0] == "Needs attention now"
    assert "Everything else" not in alone
    assert "Everything else" in told(Report([flag, an_issue()])).split("\n")
    assert [i["attention"] for i in json.loads(told(Report([an_issue(), flag]), "json"))["issues"]] == [False, True]


@pytest.mark.parametrize(
    ("code", "clinical"),
    [("C201", True), ("C399", True), ("C590", True), ("D170", True), ("C199", False), ("C101", False), ("D139", False),
     ("R201", False)],
)  # fmt: skip
def test_the_caution_ends_a_report_in_which_a_clinical_rule_spoke(code: str, clinical: bool) -> None:
    found = Report([Issue(code, "Something."), Issue(code, "Something else."), an_issue()])
    lines = told(found).splitlines()
    assert (" ".join(lines[-2:]) == clinical_caution()) is clinical
    assert " ".join(told(found).split()).count(clinical_caution()) == int(clinical)
    assert max(map(len, lines)) <= 80
    assert json.loads(told(found, "json"))["caution"] == (clinical_caution() if clinical else "")
    assert told(found, "outcome").count(clinical_caution()) == int(clinical)


@pytest.mark.parametrize(
    ("figures", "line"),
    [
        ({"visits": 1, "ready": 1, "need you": 0}, "1 visit: 1 ready"),
        ({"visits": 3, "need you": 1}, "3 visits: 1 needs you"),
        ({"visits": 0, "ready": 0}, "0 visits"),
        ({"answers": 3, "adopted": 2}, "3 answers: 2 adopted"),
        ({"letters written": 1, "letters unchanged": 2}, "1 letter written, 2 letters unchanged"),
        ({"documents not asked for": 1, "letters written": 2}, "1 document not asked for, 2 letters written"),
        ({}, "Nothing was found that needs you."),
    ],
)
def test_summary_line(figures: dict[str, int], line: str) -> None:
    assert told(Report([], figures)) == f"{line}\n"


def test_eighty_columns() -> None:
    long = Issue("R101", "word " * 60, Where(file="a" * 30, row=2, heading="b" * 30), "help " * 60)
    assert max(len(line) for line in told(Report([long, *many().issues]), verbose=True).splitlines()) <= 80


def test_nothing_shown_can_steer_a_terminal() -> None:
    hostile = f"{ESCAPE}[2J\u202egnirts\x9b31m\nand\tmore"
    found = Report([Issue("R101", hostile, Where(file=hostile, row=2, heading=hostile), hostile, cause="x")])
    for form in FORMS:
        text = told(found, form, verbose=True)
        assert not {ESCAPE, "\u202e", "\x9b"} & set(text), form


def test_colours_only_where_asked_for() -> None:
    assert ESCAPE not in told(many())
    assert ESCAPE not in told(many(), colour=False)
    coloured = told(many(), colour=True)
    assert ESCAPE in coloured
    for code in ("\x1b[1;31m", "\x1b[1;33m", "\x1b[1;36m", "\x1b[0m"):
        coloured = coloured.replace(code, "")
    assert coloured == told(many())


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("environment", "expected"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"NO_COLOR": ""}, True), ({"TERM": "dumb"}, False)],
)
def test_a_terminal_gets_colours_unless_told_otherwise(
    monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], expected: bool
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert wants_colour(Terminal()) is expected
    assert wants_colour(StringIO()) is False


def test_json_has_every_field_of_every_issue() -> None:
    found = json.loads(told(many(), "json"))
    assert found["figures"] == {"visits": 14, "ready": 8, "need you": 3, "no letter due": 3}
    assert found["counts"] == {"fatal": 0, "error": 2, "warning": 40, "information": 1}
    assert len(found["issues"]) == 43
    assert found["issues"][40] == {
        "rule": "R101",
        "severity": "error",
        "kind": "value",
        "trade": False,
        "attention": False,
        "message": "A date that is not in the calendar.",
        "help": "Correct it.",
        "cause": "date",
        "where": {
            "file": "visits.csv",
            "sheet": "",
            "row": 7,
            "column": 3,
            "heading": "Date",
            "path": "",
            "record": "V7",
            "expression": "",
        },
    }


def test_csv_has_a_row_per_issue_and_starts_no_formula() -> None:
    found = Report([an_issue(), Issue("R101", '=HYPERLINK("x")', Where(path="@x", record="\t=1"), "-1", cause="+1")])
    rows = list(csv.DictReader(StringIO(told(found, "csv"))))
    assert [row["row"] for row in rows] == ["2", ""]
    assert [rows[1][name] for name in ("message", "path", "record", "help", "cause")] == [
        '\'=HYPERLINK("x")',
        "'@x",
        "'=1",
        "'-1",
        "'+1",
    ]


def test_places_of_an_outcome() -> None:
    outcome = json.loads(told(many(), "outcome"))
    by_rule = {entry["details"]["coding"][0]["code"]: entry for entry in outcome["issue"]}
    assert by_rule["S101"]["expression"] == ["Bundle.entry[3].resource.status"]
    assert by_rule["R101"]["diagnostics"] == "visits.csv, row 7, column “Date”. Correct it."
    assert by_rule["R101"]["extension"] == [{"url": f"{EXTENSION}-source", "valueString": "visits.csv"}]
    assert not {"expression", "extension", "diagnostics"} & set(by_rule["R999"])
    assert not any("location" in entry for entry in outcome["issue"])


def test_an_outcome_says_where_in_the_file() -> None:
    content = (
        b'{"resourceType": "Observation", "status": "final", "code": {"text": "x"},\n "valueQuantity": {"value": "1"}}'
    )
    (entry,) = json.loads(
        told(Report([i for i in check_received(content, "a.json")[1] if i.rule == "S105"]), "outcome")
    )["issue"]
    assert entry["extension"] == [
        {"url": f"{EXTENSION}-source", "valueString": "a.json"},
        {"url": f"{EXTENSION}-line", "valueInteger": 2},
        {"url": f"{EXTENSION}-col", "valueInteger": 20},
    ]
    assert entry["expression"] == ["Observation.value.value"]
    assert (entry["severity"], entry["code"]) == ("error", "structure")
    assert entry["diagnostics"].startswith("a.json, line 2, column 20, Observation.valueQuantity.value. ")
    assert entry["details"]["coding"][0]["code"] == "S105"


REPORTS = [
    many(),
    Report(),
    Report([Issue("R101", " \x00\x1b ", Where(file="\x07"), "\n")]),
    Report(
        check_received(b'{"resourceType": "Patient", "gender": "m", "x y": 1, "text": {"div": "<p/>"}}', "p.json")[1]
    ),
    Report(check_received(b"<a", "a.xml")[1]),
]


@pytest.mark.parametrize("report", REPORTS)
def test_an_outcome_passes_the_published_schema(report: Report) -> None:
    """Oracle: the JSON Schema of FHIR R4 4.0.1, fhir.schema.json."""
    validator = jsonschema_rs.validator_for(standard_json("fhir-r4/fhir.schema.json.gz"))
    outcome = json.loads(told(report, "outcome"))
    assert [str(error) for error in validator.iter_errors(outcome)] == []
    assert not validator.is_valid({**outcome, "issue": [{"severity": "bad", "code": "value"}]})


@pytest.mark.parametrize("report", REPORTS)
def test_an_outcome_passes_other_checkers(report: Report) -> None:
    """Oracles: the typed models of fhir.resources; and our own checker, which asks for a narrative and does not know
    the extensions of a later package that say where in a file an issue is."""
    outcome = json.loads(told(report, "outcome"))
    assert second_opinion(outcome) == []
    assert {i.rule for i in check_resource(outcome).issues} <= {"V123", "P176"}


@pytest.mark.parametrize("form", FORMS)
def test_same_report_same_bytes(form: str) -> None:
    assert told(many(), form) == told(many(), form)
    assert told(many(), form).endswith("\n")


def test_an_unknown_form_is_refused() -> None:
    with pytest.raises(ValueError, match="no such form"):
        told(Report(), "pdf")


def test_a_row_that_nobody_sees_is_told_by_its_visit() -> None:
    at = [Where("book.sqlite", "query", n, 3, "wax", record=f"A{n}", unseen=True) for n in (2, 5)]
    assert places(at, None) == ["book.sqlite, sheet query, column “wax”: visits A2, A5"]
    assert str(at[0]) == "book.sqlite, sheet query, visit A2, column “wax”"
    assert places([Where("book.sqlite", row=4, unseen=True)], None) == ["book.sqlite: row 4"]


def test_rows_left_alone_are_told_when_asked_and_always_to_programs() -> None:
    rows = [LeftAlone("repeated row", Where("a.csv", row=n)) for n in (4, 9)] + [
        LeftAlone("blank row", Where("a.csv", row=5))
    ]
    report = Report([], {"visits": 2, "rows left alone": 3}, left_alone=rows)
    assert "repeated row" not in told(report)
    assert "Left alone (repeated row): a.csv: rows 4, 9\nLeft alone (blank row): a.csv: row 5" in told(
        report, verbose=True
    )
    found = json.loads(told(report, "json"))["left_alone"]
    assert [(one["why"], one["where"]["row"]) for one in found] == [
        ("repeated row", 4),
        ("repeated row", 9),
        ("blank row", 5),
    ]


@pytest.mark.parametrize(
    ("many", "one"),
    [
        ("parcels opened", "parcel opened"), ("files of rows written", "file of rows written"),
        ("visits in rows", "visit in rows"), ("visit files unchanged", "visit file unchanged"), ("clients", "client"),
        ("client summaries", "client summary"), ("need you", "needs you"), ("ready", "ready"),
        ("files that came along written", "file that came along written"), ("without a letter", "without a letter"),
    ],
)  # fmt: skip
def test_a_figure_of_one_is_told_in_the_singular(many: str, one: str) -> None:
    assert told(Report([], {many: 1})).splitlines()[0] == f"1 {one}"
    assert told(Report([], {many: 2})).splitlines()[0] == f"2 {many}"
