"""`letter`: which letters, in which forms, under which names, and what is never written over."""

from __future__ import annotations

import json
import os
import re
import shutil
from pathlib import Path
from typing import Any

import pikepdf
import pytest
import yaml
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.errors import BridgeError, InputError
from bridge.pdf_data import bundle_in_pdf
from tests.fhir.xsd import schema_faults

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "mappings/demo"
SHEET = DEMO / "visits-2026.csv"
BUNDLES = ROOT / "demo_bundles"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("VISIT_BRIDGE_PRACTICE", str(DEMO))
    return tmp_path


def letter(*args: str | Path, given: bytes = b"") -> Result:
    return CliRunner().invoke(main, ["letter", *map(str, args)], input=given)


def told(*args: str | Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(letter(*args, "--json").stdout)
    return found


def rules(report: dict[str, Any]) -> list[str]:
    return [i["rule"] for i in report["issues"] if i["severity"] == "error"]


def names(folder: str = "out") -> list[str]:
    return sorted(path.name for path in Path(folder).iterdir()) if Path(folder).exists() else []


@pytest.fixture(scope="module")
def bundle(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A document as this version makes it; the reviewed ones may be of an earlier state."""
    folder = tmp_path_factory.mktemp("made")
    args = ["convert", DEMO / "visits/M26-0110.yaml", "--practice", DEMO, "--to", folder, "-q"]
    assert CliRunner().invoke(main, list(map(str, args))).exit_code == 0
    return folder / "M26-0110.bundle.json"


# Forms and names.


def test_every_form_is_made_of_one_document(bundle: Path) -> None:
    result = letter(bundle, "--as", "pdf,html", "--as", "JSON, xml,cda", "--to", "out")
    assert result.exit_code == 0, result.output
    assert names() == [f"M26-0110.{end}" for end in ("bundle.json", "bundle.xml", "cda.xml", "html", "pdf")]
    assert Path("out/M26-0110.bundle.json").read_bytes() == bundle.read_bytes()
    assert bundle_in_pdf(Path("out/M26-0110.pdf").read_bytes()) == bundle.read_bytes()
    assert schema_faults(Path("out/M26-0110.bundle.xml").read_bytes()) == []
    assert b"<ClinicalDocument" in Path("out/M26-0110.cda.xml").read_bytes()
    assert b"<!DOCTYPE html>" in Path("out/M26-0110.html").read_bytes()


def test_a_pdf_is_made_beside_the_document_unless_something_else_is_said(bundle: Path) -> None:
    shutil.copy(bundle, "a.json")
    assert letter("a.json").exit_code == 0
    assert names(".") == ["M26-0110.pdf", "a.json"]


def test_a_pdf_without_data_for_mail_that_refuses_it(bundle: Path) -> None:
    assert letter(bundle, "--without-data", "--to", "out").exit_code == 0
    with pytest.raises(InputError):
        bundle_in_pdf(Path("out/M26-0110.pdf").read_bytes())


def test_the_clients_own_copy_carries_data_only_when_told(bundle: Path) -> None:
    assert letter(bundle, "--for", "client", "--to", "out").exit_code == 0
    (name,) = names()
    with pytest.raises(InputError):
        bundle_in_pdf(Path("out", name).read_bytes())
    assert letter(bundle, "--for", "client", "--with-data", "--to", "carried").exit_code == 0
    assert bundle_in_pdf(Path("carried", name).read_bytes()) == bundle.read_bytes()


@pytest.mark.parametrize(("args", "width"), [((), 595), (("--paper", "a4"), 595), (("--paper", "LETTER"), 612)])
def test_paper(args: tuple[str, ...], width: int, bundle: Path) -> None:
    """In points: A4 is 210 mm wide (ISO 216), Letter 8.5 inches."""
    assert letter(bundle, *args, "--to", "out").exit_code == 0
    with pikepdf.open("out/M26-0110.pdf") as pdf:
        assert round(float(pdf.pages[0].mediabox[2])) == width


def test_the_paper_of_the_region_where_none_is_named(here: Path) -> None:
    settings = (DEMO / "practice.yaml").read_text(encoding="utf-8").replace("region: uk", "region: us")
    (here / "us").mkdir()
    (here / "us" / "practice.yaml").write_text(settings, encoding="utf-8")
    shutil.copy(DEMO / "doctors.csv", here / "us")
    result = letter(DEMO / "visits/M26-0110.yaml", "--practice", "us", "--for", "client", "--to", "out")
    assert names() != [], result.output
    with pikepdf.open(Path("out", names()[0])) as pdf:
        assert round(float(pdf.pages[0].mediabox[2])) == 612


def test_large_type_is_another_letter_in_larger_type(bundle: Path) -> None:
    letter(bundle, "--as", "html", "--to", "usual")
    letter(bundle, "--as", "html", "--large", "--to", "out")
    assert Path("usual/M26-0110.html").read_bytes() != Path("out/M26-0110.html").read_bytes()


def test_files_are_named_by_the_visit_its_version_the_kind_of_letter_and_draft() -> None:
    sources = [DEMO / "visits/M26-0128.yaml", DEMO / "visits/M26-0130.yaml", SHEET]
    visits = [part for n in ("M26-0101", "M26-0128", "M26-0130") for part in ("--visit", n)]
    assert letter(*sources, *visits, "--as", "json", "--to", "out").exit_code == 0
    assert names() == [
        "M26-0101-v2.bundle.json",
        "M26-0101.bundle.json",
        "M26-0128.bundle.json",
        "M26-0128.referral.bundle.json",
        "M26-0130.draft.bundle.json",
    ]
    for name in names():  # a document gets the same name as the record that it was made of
        assert letter(Path("out", name), "--as", "json", "--to", "again").exit_code == 0
    assert names("again") == names()


def test_no_name_of_a_client_unless_it_is_asked_for(bundle: Path) -> None:
    letter(bundle, "--as", "html", "--to", "out")
    letter(bundle, "--as", "html", "--with-names", "--to", "named")
    assert (names(), names("named")) == (["M26-0110.html"], ["M26-0110_Dunleavey_Holm_Osric.html"])


def test_the_whole_record_is_named_by_the_client() -> None:
    assert letter(BUNDLES / "summaries/C-1011.ips.bundle.json", "--as", "html", "--to", "out").exit_code == 0
    assert names() == ["C-1011.ips.draft.html"]


@pytest.mark.parametrize(
    "args",
    [
        ("--as", "doc"),
        ("--as", ""),
        ("--day", "today"),
        ("--day", "2026-13-01"),
        ("--day", "20260512"),
        ("--paper", "a5"),
    ],
)
def test_wrong_use(args: tuple[str, str]) -> None:
    assert letter(SHEET, *args).exit_code == 2


def test_a_letter_of_a_letter_is_the_same_letter(bundle: Path) -> None:
    """Read out of a PDF or out of CDA, it says what it said."""
    letter(bundle, "--as", "pdf,html,cda", "--to", "out")
    assert letter("out/M26-0110.pdf", "--as", "html,json", "--to", "of-pdf").exit_code == 0
    assert Path("of-pdf/M26-0110.html").read_bytes() == Path("out/M26-0110.html").read_bytes()
    assert Path("of-pdf/M26-0110.bundle.json").read_bytes() == bundle.read_bytes()
    assert letter("out/M26-0110.cda.xml", "--as", "html", "--to", "of-cda").exit_code == 0
    assert Path("of-cda/M26-0110.html").read_bytes() == Path("out/M26-0110.html").read_bytes()


# Which letters.


def test_visits_are_chosen_by_number_whatever_its_capitals() -> None:
    report = told(SHEET, "--visit", "m26-0102", "--as", "html", "--to", "out")
    assert names() == ["M26-0102.html"]
    assert [one["record"] for one in report["records"]] == ["M26-0102"]
    assert {i["where"]["record"] for i in report["issues"]} <= {"M26-0102", ""}


def test_visits_are_chosen_by_client_and_day_and_all_must_fit() -> None:
    letter(SHEET, "--client", "C-1001", "--as", "html", "--to", "out")
    assert names() == ["M26-0101-v2.html", "M26-0101.html"]
    letter(SHEET, "--day", "2026-01-12", "--day", "2026-01-19", "--as", "html", "--to", "days")
    assert names("days") == ["M26-0101-v2.html", "M26-0101.html", "M26-0102.html"]
    report = told(SHEET, "--client", "C-1001", "--day", "2026-01-19", "--as", "html", "--to", "none")
    assert (rules(report), names("none")) == (["D176"], [])


def test_the_day_is_that_of_the_clinic() -> None:
    """23:30 UTC on 6 May is half past midnight on 7 May in London (British Summer Time)."""
    data = yaml.safe_load((DEMO / "visits/M26-0110.yaml").read_text(encoding="utf-8"))
    data |= {"start": "2026-05-06T23:30Z", "end": "2026-05-06T23:50Z", "recorded_at": "2026-05-06T23:55Z"}
    data.pop("approved")
    Path("late.yaml").write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
    for day, found in (("2026-05-06", []), ("2026-05-07", ["M26-0110.client.draft.html"])):
        letter("late.yaml", "--for", "client", "--day", day, "--as", "html", "--to", day)
        assert names(day) == found


@pytest.mark.parametrize(
    "args", [("--visit", "M26-9999"), ("--client", "C-9999"), ("--day", "1999-01-01")], ids=lambda a: a[0]
)
def test_what_is_not_there_is_told_without_naming_what_is(args: tuple[str, str]) -> None:
    result = letter(SHEET, *args)
    assert result.exit_code == 1
    assert "D176" in result.stdout
    assert "Of 9 visits looked at, none" in result.stdout
    assert "M26-01" not in result.stdout
    assert "C-1001" not in result.stdout


def test_documents_are_chosen_in_the_same_way(bundle: Path) -> None:
    Path("in").mkdir()
    for name in ("M26-0102", "M26-0103"):
        shutil.copy(BUNDLES / f"{name}.bundle.json", "in")
    assert letter("in", "--day", "2026-01-19", "--as", "html", "--to", "out").exit_code == 0
    assert names() == ["M26-0102.html"]
    assert letter("in", "--visit", "M26-0103", "--as", "html", "--to", "one").exit_code == 0
    assert names("one") == ["M26-0103.draft.html"]


def test_records_that_nobody_asked_for_are_not_told() -> None:
    lines = SHEET.read_text(encoding="utf-8").splitlines()
    broken = [line.replace("02/02/2026", "31/02/2026") for line in lines]
    assert broken != lines
    Path("visits.csv").write_text("\n".join(broken) + "\n", encoding="utf-8")
    report = told("visits.csv", "--visit", "M26-0102", "--as", "html", "--to", "out")
    assert (rules(report), names()) == ([], ["M26-0102.html"])
    assert report["figures"]["records that are no visit"] == 1
    report = told("visits.csv", "--visit", "M26-0103", "--as", "html", "--to", "out")
    assert rules(report) != []
    assert "D176" not in rules(report)


def test_a_letter_that_is_not_due_is_not_made_and_the_clients_copy_is() -> None:
    """M26-0104: the client does not want the family doctor told."""
    report = told(SHEET, "--visit", "M26-0104", "--as", "html", "--to", "out")
    assert "D101" in [i["rule"] for i in report["issues"]]
    assert names() == []
    assert letter(SHEET, "--visit", "M26-0104", "--for", "client", "--as", "pdf,json", "--to", "out").exit_code == 0
    assert [n.replace(".draft", "") for n in names()] == ["M26-0104.client.bundle.json", "M26-0104.client.pdf"]


def test_a_letter_of_an_earlier_run_that_is_not_due_any_more_is_told() -> None:
    Path("out").mkdir()
    Path("out/M26-0104.html").write_text("an old letter")
    report = told(SHEET, "--visit", "M26-0104", "--as", "html", "--to", "out")
    assert "D116" in [i["rule"] for i in report["issues"]]
    assert Path("out/M26-0104.html").read_text() == "an old letter"


def test_a_record_with_errors_makes_no_letter() -> None:
    data = yaml.safe_load((DEMO / "visits/M26-0110.yaml").read_text(encoding="utf-8"))
    del data["sharing"]
    Path("a.yaml").write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
    report = told("a.yaml", "--to", "out")
    assert (rules(report), names()) == (["D110"], [])


# Nothing is written over.


def test_the_same_letter_again_is_unchanged(bundle: Path) -> None:
    letter(bundle, "--as", "html,pdf", "--to", "out")
    report = told(bundle, "--as", "html,pdf", "--to", "out")
    assert [one["state"] for one in report["files"]] == ["unchanged", "unchanged"]
    assert report["figures"] == {"letters unchanged": 2}


def test_another_letter_stays_unless_one_says_replace(bundle: Path) -> None:
    Path("out").mkdir()
    Path("out/M26-0110.html").write_text("Mine.")
    result = letter(bundle, "--as", "html", "--to", "out")
    assert result.exit_code == 1
    assert "D175" in result.stdout
    assert Path("out/M26-0110.html").read_text() == "Mine."
    report = told(bundle, "--as", "html", "--to", "out", "--replace")
    assert [i["rule"] for i in report["issues"] if i["rule"][0] == "D"] == ["D115"]
    assert [one["state"] for one in report["files"]] == ["replaced"]
    assert b"<!DOCTYPE html>" in Path("out/M26-0110.html").read_bytes()


def test_a_draft_stays_beside_what_was_approved() -> None:
    source = DEMO / "visits/M26-0110.yaml"
    text = source.read_text(encoding="utf-8")
    draft = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("approved:"))
    assert draft != text
    Path("a.yaml").write_text(draft, encoding="utf-8")
    first = told("a.yaml", "--as", "html", "--to", "out")
    then = told(source, "--as", "html", "--to", "out")
    assert names() == ["M26-0110.draft.html", "M26-0110.html"]
    assert "D116" not in [i["rule"] for report in (first, then) for i in report["issues"]]


@pytest.mark.parametrize("more", [[], ["--for", "client"], ["--with-names"]])
def test_what_was_approved_is_told_when_the_record_is_a_draft_again(more: list[str]) -> None:
    source = DEMO / "visits/M26-0110.yaml"
    text = source.read_text(encoding="utf-8")
    Path("a.yaml").write_text(re.sub(r"(?m)^approved:.*\n", "", text), encoding="utf-8")
    told(source, "--as", "html,pdf", "--to", "out", *more)
    (approved,) = [name for name in names() if name.endswith(".html")]
    report = told("a.yaml", "--as", "html", "--to", "out", *more)
    assert [(i["rule"], i["message"].split()[0]) for i in report["issues"] if i["rule"] == "D116"] == [
        ("D116", approved)
    ]


def test_stopping_leaves_nothing_by_halves(bundle: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    result = letter(bundle, "--as", "html", "--to", "out")
    assert result.exit_code == 130
    assert names() == []


def test_folders_with_blanks_and_accents(bundle: Path) -> None:
    Path("Frühling 2026").mkdir()
    shutil.copy(bundle, "Frühling 2026/été 1.json")
    assert letter("Frühling 2026/été 1.json", "--to", "Meine Briefe/Übersicht").exit_code == 0
    assert names("Meine Briefe/Übersicht") == ["M26-0110.pdf"]


# Standard output.


def test_one_letter_goes_through_a_pipe(bundle: Path) -> None:
    page = letter("-", given=bundle.read_bytes())
    assert (page.exit_code, page.stdout_bytes[:15]) == (0, b"<!DOCTYPE html>")
    pdf = letter("-", "--as", "pdf", given=bundle.read_bytes())
    assert bundle_in_pdf(pdf.stdout_bytes) == bundle.read_bytes()
    back = letter("-", "--as", "json", given=pdf.stdout_bytes)
    assert back.stdout_bytes == bundle.read_bytes()
    assert names(".") == []


def test_print_is_the_same_as_the_file(bundle: Path) -> None:
    letter(bundle, "--as", "html", "--to", "out")
    assert letter(bundle, "--print").stdout_bytes == Path("out/M26-0110.html").read_bytes()


def test_standard_output_takes_one_letter_in_one_form(bundle: Path) -> None:
    assert letter(bundle, "--print", "--as", "html,json").exit_code == 2
    many = letter(SHEET, "--print")
    assert (many.exit_code, many.stdout) == (2, "")
    one = letter(SHEET, "--visit", "M26-0102", "--print")
    assert (one.exit_code, one.stdout[:15]) == (0, "<!DOCTYPE html>")


def test_no_pdf_on_a_terminal(bundle: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from bridge.cli import desk

    monkeypatch.setattr(desk, "on_terminal", lambda: True)
    assert letter(bundle, "--print", "--as", "pdf").exit_code == 2
    assert letter(bundle, "--print").exit_code == 0


def test_no_letter_is_no_empty_file_of_success() -> None:
    result = letter(SHEET, "--visit", "M26-0104", "--print")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "D178" in result.stderr


# What cannot be made.


def test_the_clients_copy_of_a_doctors_letter_is_a_page_and_no_data(bundle: Path) -> None:
    report = told(bundle, "--for", "client", "--as", "html,json,xml,cda", "--to", "out")
    assert (rules(report), names()) == (["D177"] * 3, ["M26-0110.client.html"])


@pytest.mark.parametrize("whose", ["theirs", "whole record"])
def test_no_clients_copy_is_made_in_a_doctors_words(whose: str, bundle: Path) -> None:
    source = BUNDLES / "summaries" / "C-1011.ips.bundle.json"
    if whose == "theirs":
        data = json.loads(bundle.read_bytes())
        device = next(e["resource"] for e in data["entry"] if e["resource"]["resourceType"] == "Device")
        device["deviceName"][0]["name"] = "another program"
        source = Path("theirs.json")
        source.write_text(json.dumps(data), encoding="utf-8")
    report = told(source, "--for", "client", "--as", "html,pdf,json", "--to", "out")
    assert (rules(report), names()) == (["D179", "D179", "D177"], [])


def test_cda_is_made_of_our_own_documents_only(bundle: Path) -> None:
    data = json.loads(bundle.read_bytes())
    data["identifier"]["value"] = "123"
    Path("theirs.json").write_text(json.dumps(data), encoding="utf-8")
    report = told("theirs.json", "--as", "html,cda", "--to", "out")
    assert (rules(report), names()) == (["D177"], ["theirs.html"])


def test_a_pdf_of_somebody_else_is_told(bundle: Path) -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save("theirs.pdf")
    assert letter("theirs.pdf").exit_code == 3
    report = told("theirs.pdf", bundle, "--as", "html", "--to", "out")
    assert (rules(report), names()) == (["R154"], ["M26-0110.html"])


def test_a_broken_document_makes_no_letter(bundle: Path) -> None:
    Path("a.json").write_bytes(bundle.read_bytes().replace(b'"type": "document"', b'"type": "letter"'))
    result = letter("a.json", "--to", "out")
    assert (result.exit_code, names()) == (1, [])


def test_a_correction_that_is_chosen_says_the_same_as_among_all() -> None:
    """The version that it corrects is read, though no letter of it is asked for."""
    text = SHEET.read_text(encoding="utf-8").splitlines()
    at = text[0].split(",").index("Version")
    rows = [line for line in text[1:] if line.startswith("M26-0101")]
    assert [row.split(",")[at] for row in rows] == ["", "2"]
    later = [line.replace("12/01/2026", "13/01/2026", 1) if line == rows[1] else line for line in text]
    Path("visits.csv").write_text("\n".join(later) + "\n", encoding="utf-8")
    letter("visits.csv", "--as", "json", "--to", "all")
    letter("visits.csv", "--day", "2026-01-13", "--as", "json", "--to", "out")
    assert names() == ["M26-0101-v2.bundle.json"]
    assert Path("out", names()[0]).read_bytes() == Path("all", names()[0]).read_bytes()


def test_what_is_no_document_is_told_and_the_others_go_on(bundle: Path) -> None:
    Path("patient.json").write_text('{"resourceType": "Patient", "active": true}')
    report = told("patient.json", bundle, "--as", "html", "--to", "out")
    assert (rules(report), names()) == (["D179"], ["M26-0110.html"])
    (found,) = [i for i in report["issues"] if i["rule"] == "D179"]
    assert found["where"]["file"] == "patient.json"


def test_a_letter_that_cannot_be_set_is_told_and_the_others_go_on(
    bundle: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bridge.render import as_pdf

    def fail(*_: object, **__: object) -> None:
        raise BridgeError("It did not work.", "Try html.")

    monkeypatch.setattr(as_pdf, "render", fail)
    report = told(bundle, "--as", "pdf,html", "--to", "out")
    assert (rules(report), names()) == (["D179"], ["M26-0110.html"])
    assert "D179" in letter(bundle, "--print", "--as", "pdf").stderr
