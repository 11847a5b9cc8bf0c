"""XML through the front door: checked, converted and shown like JSON."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.fhir.read_json import read_json
from bridge.fhir.read_xml import read_xml
from tests.fhir.xsd import schema_faults

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "mappings/demo"
BUNDLE = ROOT / "demo_bundles/M26-0110.bundle.json"
BROKEN = b"""\
<?xml version="1.0"?>
<Patient xmlns="http://hl7.org/fhir">
  <active value="yes"/>
  <gender value="f">x</gender>
</Patient>
"""


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)


def run(*args: str | Path, given: bytes = b"") -> Result:
    return CliRunner().invoke(main, list(map(str, args)), input=given)


def rules(result: Result) -> set[tuple[str, str]]:
    return {(i["rule"], i["where"]["path"]) for i in json.loads(result.stdout)["issues"]}


FAULTS = {("S105", "Patient.active"), ("S111", "Patient.gender"), ("S148", "Patient._gender")}


@pytest.mark.parametrize("name", ["in.xml", "in.txt", "in"])
def test_check_knows_xml_by_looking(name: str) -> None:
    Path(name).write_bytes(BROKEN)
    result = run("check", name, "--json")
    assert result.exit_code == 1
    assert rules(result) >= FAULTS


def test_who_checks_json_needs_no_parser_of_xml() -> None:
    code = (
        "import sys; from bridge.cli import main; main(sys.argv[1:], standalone_mode=False); "
        "print('lxml' in sys.modules)"
    )
    for path, loaded in ((BUNDLE, "False"), (Path("in.xml"), "True")):
        Path("in.xml").write_bytes(b'<Basic xmlns="http://hl7.org/fhir"><code><text value="a"/></code></Basic>')
        result = subprocess.run(
            [sys.executable, "-c", code, "check", path], capture_output=True, text=True, check=False
        )
        assert result.stdout.split()[-1:] == [loaded], result.stdout + result.stderr


def test_check_reads_xml_from_standard_input() -> None:
    assert rules(run("check", "-", "--json", given=BROKEN)) >= FAULTS


@pytest.mark.parametrize("content", [b"<Patient/>", b"\xef\xbb\xbf\n<Patient><active value='true'/></Patient>"])
def test_a_resource_without_namespace_is_told_as_such(content: bytes) -> None:
    assert ("S144", "Patient") in rules(run("check", "-", "--json", given=content))


def test_other_xml_is_told_as_such() -> None:
    Path("a.xml").write_bytes(b'<Letter xmlns="urn:example:letters"/>')
    assert rules(run("check", "a.xml", "--json")) == {("S143", "")}


def test_a_folder_of_documents_in_xml_is_checked() -> None:
    Path("in").mkdir()
    Path("in/a.bundle.xml").write_bytes(BROKEN)
    assert rules(run("check", "in", "--json")) >= FAULTS


def test_convert_gives_xml_that_the_published_schema_takes() -> None:
    in_xml = run("convert", DEMO / "visits-2026.csv", "--practice", DEMO, "--format", "xml", "--to", "x", "--json")
    in_json = run("convert", DEMO / "visits-2026.csv", "--practice", DEMO, "--to", "j", "--json")
    assert (in_xml.exit_code, json.loads(in_xml.stdout)) == (in_json.exit_code, json.loads(in_json.stdout))
    written = sorted(Path("x").iterdir())
    assert [p.name for p in written] == [p.with_suffix(".xml").name for p in sorted(Path("j").iterdir())]
    assert len(written) > 3
    for path in written:
        data, issues = read_xml(path.read_bytes())
        assert issues == []
        assert data == read_json(Path("j", path.with_suffix(".json").name).read_bytes())[0]
        assert schema_faults(path.read_bytes()) == []
    assert run("check", "x").exit_code == 0


@pytest.mark.parametrize("kind", ["transaction", "collection"])
def test_every_kind_of_bundle_is_written_in_xml(kind: str) -> None:
    source = DEMO / "visits/M26-0110.yaml"
    result = run("convert", source, "--practice", DEMO, "--as", kind, "--format", "xml", "--to", "x")
    assert result.exit_code == 0, result.output
    assert [p.name for p in Path("x").iterdir()] == [f"M26-0110.{kind}.bundle.xml"]


def test_a_received_document_is_written_anew_both_ways() -> None:
    assert run("convert", BUNDLE, "--format", "xml", "--to", "x").exit_code == 0
    written = Path("x/M26-0110.bundle.xml")
    assert run("convert", written, "--format", "json", "--to", "y").exit_code == 0
    assert read_json(Path("y/M26-0110.bundle.json").read_bytes()) == read_json(BUNDLE.read_bytes())


def test_a_document_with_errors_is_not_written_anew() -> None:
    Path("in.xml").write_bytes(BROKEN)
    result = run("convert", "in.xml", "--format", "json", "--to", "x", "--json")
    assert result.exit_code == 1
    assert rules(result) >= FAULTS
    assert not Path("x").exists()


def test_a_document_is_never_written_over_itself() -> None:
    Path("a.xml").write_bytes(b'<Patient xmlns="http://hl7.org/fhir"><active   value="true"/></Patient>')
    before = Path("a.xml").read_bytes()
    assert run("convert", "a.xml", "--format", "xml", "--to", ".").exit_code == 2
    assert Path("a.xml").read_bytes() == before


def test_records_and_documents_together() -> None:
    result = run("convert", BUNDLE, DEMO / "visits/M26-0110.yaml", "--practice", DEMO, "--format", "xml", "--to", "x",
                 "--json")  # fmt: skip
    assert result.exit_code == 0, result.output
    figures = json.loads(result.stdout)["figures"]
    assert (figures["visits"], figures["files written"]) == (1, 2)


def test_without_format_a_document_is_no_record() -> None:
    result = run("convert", BUNDLE, "--practice", DEMO)
    assert (result.exit_code, "is a FHIR document" in result.output) == (3, True)


def test_ndjson_is_not_written_in_xml() -> None:
    assert run("convert", BUNDLE, "--as", "ndjson", "--format", "xml").exit_code == 2


def test_a_sign_that_xml_cannot_carry_holds_the_document_back() -> None:
    Path("a.json").write_text('{"resourceType": "Patient", "name": [{"text": "a\\u000bb"}]}', encoding="utf-8")
    assert run("check", "a.json").exit_code == 0
    result = run("convert", "a.json", "--format", "xml", "--to", "x", "--json")
    assert result.exit_code == 1
    assert ("S153", "Patient.name[0].text") in rules(result)
    assert not Path("x").exists()


def test_lines_of_resources_are_not_one_document() -> None:
    Path("a.ndjson").write_text('{"resourceType": "Patient", "id": "a"}\n{"resourceType": "Patient", "id": "b"}\n')
    result = run("convert", "a.ndjson", "--format", "xml", "--to", "x")
    assert (result.exit_code, "a resource on each line" in result.output) == (3, True)


def test_a_letter_is_made_from_xml() -> None:
    run("convert", BUNDLE, "--format", "xml", "--to", "x")
    assert run("letter", "x/M26-0110.bundle.xml", "--as", "html", "--to", "a").exit_code == 0
    assert run("letter", BUNDLE, "--as", "html", "--to", "b").exit_code == 0
    assert Path("a/M26-0110.html").read_bytes() == Path("b/M26-0110.html").read_bytes()


def test_a_draft_in_xml_is_replaced_without_a_word() -> None:
    from bridge.deliver import Shelf
    from bridge.shapes import Document

    shelf = Shelf(Path("s"))
    for content, told in ((b'<status value="preliminary"/>', 0), (b'<status value="final"/>', 0), (b"<a/>", 1)):
        assert len(shelf.put(Document("a.bundle.xml", "application/fhir+xml", content))) == told
