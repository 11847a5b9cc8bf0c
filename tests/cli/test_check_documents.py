"""What `check` says of received documents: on the terminal, to a program, to a server."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main

PATIENT = """{
  "resourceType": "Patient",
  "birthdate": "1950-01-01",
  "gender": "m",
  "name": {"given": ["Quuxanne"]},
  "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "1234567890"}],
  "contact": [{"gender": "female"}]
}"""
XML = '<Patient xmlns="http://hl7.org/fhir">\n  <gender value="m"/>\n</Patient>\n'


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "patient.json"
    path.write_text(PATIENT, encoding="utf-8")
    return path


def check(*given: object) -> Any:
    return CliRunner().invoke(main, ["check", *map(str, given)])


def test_on_the_terminal_causes_come_first_and_the_trade_stands_apart(file: Path) -> None:
    done = check(file)
    assert done.exit_code == 1
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "\x1b" not in done.stdout
    rules = [line.split()[1] for line in done.stdout.splitlines() if line.startswith(("Error", "Note", "Warning"))]
    assert rules == ["S102", "S104", "S111", "V166", "V123", "C110"]
    standard, trade = done.stdout.split("The trade: ")
    assert standard.splitlines()[:3] == ["Reading and the standard", "-" * 24, "4 errors, 1 note"]
    assert trade.splitlines()[2] == "1 error"
    assert trade.splitlines()[-2:] == ["1 document checked", "5 errors, 1 note"]
    assert "patient.json, line 3, column 3, Patient.birthdate" in standard


def test_no_value_of_the_client_is_told(file: Path) -> None:
    for form in ("text", "json", "csv", "outcome"):
        told = check(file, "--report", form, "--verbose").stdout
        assert "C110" in told
        assert not any(value in told for value in ("1950-01-01", "Quuxanne", "1234567890"))


def test_for_a_program_there_is_nothing_but_json(file: Path) -> None:
    done = check(file, "--report", "json")
    found = json.loads(done.stdout)
    assert found["counts"] == {"fatal": 0, "error": 5, "warning": 0, "information": 1}
    (gender,) = [i for i in found["issues"] if i["rule"] == "S111"]
    assert gender["trade"] is False
    assert gender["kind"] == "code-invalid"
    where = {name: gender["where"][name] for name in ("file", "row", "column", "path", "expression")}
    assert where == {
        "file": "patient.json", "row": 4, "column": 3, "path": "Patient.gender", "expression": "Patient.gender",
    }  # fmt: skip
    assert [i["trade"] for i in found["issues"]] == [False] * 5 + [True]


def test_for_a_server_there_is_an_outcome(file: Path) -> None:
    outcome = json.loads(check(file, "--report", "outcome").stdout)
    assert outcome["resourceType"] == "OperationOutcome"
    assert [i["details"]["coding"][0]["code"] for i in outcome["issue"]][:2] == ["S102", "S104"]


def test_xml_has_its_lines(tmp_path: Path) -> None:
    path = tmp_path / "patient.xml"
    path.write_text(XML, encoding="utf-8")
    assert "patient.xml, line 2, column 3, Patient.gender" in check(path).stdout


def test_a_file_that_is_no_json_is_told_by_its_place(tmp_path: Path) -> None:
    path = tmp_path / "patient.json"
    path.write_text("""{"resourceType": "Patient",\n  'active': true}""", encoding="utf-8")
    done = check(path)
    assert done.exit_code == 1
    assert "S122" in done.stdout
    assert "ask for it again" in " ".join(done.stdout.split())
    assert "patient.json, line 2, column 3" in done.stdout


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.json", "{'resourceType': 'Patient'}", "quotation marks are straight and double"),
        ("a.json", '{"resourceType": "Patient", "active": true,}', "a comma before the closing bracket"),
        ("a.xml", '<Patient xmlns="http://hl7.org/fhir"><name>\n', "it ends before the outermost element is closed"),
        ("a.xml", '<Patient xmlns="http://hl7.org/fhir"><name>\n<family val', "a tag is not finished"),
        (
            "a.json",
            '{"resourceType": "SubscriptionTopic"}',
            "Perhaps “Subscription” is meant. If the kind is of another",
        ),
    ],
)
def test_half_a_document_is_told_in_plain_words(name: str, content: str, words: str, tmp_path: Path) -> None:
    """Without a practice folder: such a file is never taken for records."""
    path = tmp_path / name
    path.write_text(content, encoding="utf-8")
    done = check(path, "--practice", tmp_path)
    assert done.exit_code == 1
    assert words in " ".join(done.stdout.split())


def test_letters_are_made_of_the_documents_among_other_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    document = next(iter(sorted((Path(__file__).parents[2] / "demo_bundles").glob("*.bundle.json"))))
    Path("visits.csv").write_text("Visit no\n1\n", encoding="utf-8")
    Path("drum.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    args = ["letter", "visits.csv", "drum.png", str(document), "--as", "html", "--to", "out", "--json"]
    assert CliRunner().invoke(main, args).exit_code == 3  # records need a practice, and nothing is done by halves
    assert not Path("out").exists()
    args += ["--practice", str(Path(__file__).parents[2] / "mappings/demo")]
    done = CliRunner().invoke(main, args)
    told = json.loads(done.stdout)
    assert (done.exit_code, [i["rule"] for i in told["issues"]]) == (1, ["R154", "R154"])
    assert (told["figures"]["letters written"], told["figures"]["visits"]) == (1, 0)
    assert [one["state"] for one in told["files"]] == ["written"]
    alone = CliRunner().invoke(main, ["letter", "drum.png"])
    assert (alone.exit_code, alone.stderr.splitlines()[0]) == (3, "drum.png is a picture, not a file of records.")
