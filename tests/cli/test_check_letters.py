"""`check` looks into letters: the bundle that a PDF carries, the document that CDA says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from click.testing import CliRunner, Result

from bridge.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "mappings/demo"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    return tmp_path


@pytest.fixture(scope="module")
def letters(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("letters")
    args = ["letter", DEMO / "visits/M26-0110.yaml", "--practice", DEMO, "--as", "pdf,json,cda", "--to", folder, "-q"]
    assert CliRunner().invoke(main, list(map(str, args))).exit_code == 0
    return folder


def run(*args: str | Path, given: bytes = b"") -> Result:
    return CliRunner().invoke(main, list(map(str, args)), input=given)


def told(*args: str | Path, given: bytes = b"") -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run("check", *args, "--json", given=given).stdout)
    return found


def carrying(pdf: Path, content: bytes) -> Path:
    """The same PDF with another attachment."""
    target = Path("changed.pdf")
    with pikepdf.open(pdf) as opened:
        (name,) = opened.attachments
        opened.attachments[name].obj.EF.F.write(content)
        opened.save(target)
    return target


def said(report: dict[str, Any]) -> list[tuple[str, str]]:
    return sorted((i["rule"], i["message"]) for i in report["issues"])


@pytest.mark.parametrize("ending", ["pdf", "cda.xml"])
def test_a_letter_is_told_as_its_document_is(ending: str, letters: Path) -> None:
    report = told(letters / f"M26-0110.{ending}")
    assert report["figures"] == {"documents checked": 1}
    of_bundle = said(told(letters / "M26-0110.bundle.json"))
    if ending == "cda.xml":  # CDA says of no resource which profile it claims
        of_bundle = [(rule, words) for rule, words in of_bundle if rule[0] != "P"]
    assert said(report) == of_bundle


def test_faults_are_told_at_their_places_in_what_is_attached(letters: Path) -> None:
    good = (letters / "M26-0110.bundle.json").read_bytes()
    bad = good.replace(b'"gender": "male"', b'"gender": "man"')
    assert bad != good
    line = bad[: bad.index(b'"gender": "man"')].count(b"\n") + 1
    (found,) = [i for i in told(carrying(letters / "M26-0110.pdf", bad))["issues"] if i["severity"] == "error"]
    assert (found["rule"], found["where"]["file"], found["where"]["row"]) == (
        "S111",
        "changed.pdf, attached bundle",
        line,
    )


@pytest.mark.parametrize("content", [b"", b"{", b"[1]", b"null", b"<a/>", b"\xff\xfe"])
def test_an_attachment_that_is_no_bundle_is_told(content: bytes, letters: Path) -> None:
    result = run("check", carrying(letters / "M26-0110.pdf", content))
    assert result.exit_code in {1, 3}
    assert "fault of its own" not in result.output


@pytest.mark.parametrize("content", [b"%PDF-1.7\n", b"%PDF", b"%PDF-1.7\n" + b"\0" * 1000])
def test_a_broken_pdf_stops_a_run_of_its_own_and_no_other(content: bytes, letters: Path) -> None:
    Path("a.pdf").write_bytes(content)
    alone = run("check", "a.pdf")
    assert (alone.exit_code, alone.stdout) == (3, "")
    assert "a.pdf" in alone.stderr
    report = told("a.pdf", letters / "M26-0110.pdf")
    assert [i["rule"] for i in report["issues"] if i["severity"] == "error"] == ["R154"]
    assert report["figures"]["documents checked"] == 1


@pytest.mark.parametrize(
    "content",
    [
        b'<ClinicalDocument xmlns="urn:hl7-org:v3"/>',
        b'<?xml version="1.0"?><!-- a <b> --><?xml-stylesheet href="x"?><c:ClinicalDocument xmlns:c="urn:hl7-org:v3"/>',
        b'<ClinicalDocument xmlns="urn:hl7-org:v3">',
        b'<!DOCTYPE ClinicalDocument [<!ENTITY a "b">]><ClinicalDocument xmlns="urn:hl7-org:v3">&a;</ClinicalDocument>',
    ],
)
def test_cda_of_others_and_broken_cda_is_told(content: bytes) -> None:
    Path("a.xml").write_bytes(content)
    result = run("check", "a.xml")
    assert result.exit_code == 1
    assert "fault of its own" not in result.output


def test_standard_input(letters: Path) -> None:
    for ending in ("pdf", "cda.xml"):
        assert told("-", given=(letters / f"M26-0110.{ending}").read_bytes())["figures"] == {"documents checked": 1}


def test_of_the_pdfs_in_a_folder_those_that_carry_a_document(letters: Path) -> None:
    Path("in").mkdir()
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save("in/invoice.pdf")
    Path("in/letter.pdf").write_bytes((letters / "M26-0110.pdf").read_bytes())
    report = told("in")
    assert report["figures"] == {"documents checked": 1}
    assert [i["message"] for i in report["issues"] if i["rule"] == "R151"] == ["1 file was left alone: 1 .pdf."]


def test_letters_are_no_records(letters: Path) -> None:
    for ending in ("pdf", "cda.xml"):
        result = run("convert", letters / f"M26-0110.{ending}", "--practice", DEMO)
        assert result.exit_code == 3
        assert "not a record of visits" in result.stderr


@pytest.mark.parametrize("ending", ["pdf", "cda.xml"])
def test_convert_writes_the_document_in_a_letter_anew(ending: str, letters: Path) -> None:
    result = run("convert", letters / f"M26-0110.{ending}", "--format", "json", "--to", "out")
    assert result.exit_code == 0, result.output
    (made,) = Path("out").iterdir()
    if ending == "pdf":
        assert made.read_bytes() == (letters / "M26-0110.bundle.json").read_bytes()
    assert run("check", made).exit_code == 0
