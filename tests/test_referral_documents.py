"""One visit, several letters: all of them or none, each under its own name, and the same visit from either."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from bridge.check import check_bundle
from bridge.cli import main
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from tests.referrals import raw
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
GIVEN = {"status": "given"}
BOTH = {**GIVEN, "scope": ["visit summary", "referral"]}
ONLY_REFERRAL = {**GIVEN, "scope": ["referral"]}
ONLY_SUMMARY = {**GIVEN, "scope": ["visit summary"]}
APPROVED = {"by": "PS", "at": "2026-05-26T17:30+01:00"}


def record(**changes: Any) -> dict[str, Any]:
    """The invented visit as the demo practice would keep it."""
    made = raw(**{"practitioners": ["PS"], "clinic": None, "family_doctor": "TR", **changes})
    made["client"]["address"] = {"lines": ["5 Ferry Row"], "city": "Aldersby", "postcode": "ZX9 5FR"}
    return made


def run(folder: Path, *options: str, **changes: Any) -> Result:
    source = folder / "visit.yaml"
    source.write_text(yaml.safe_dump(record(**changes), allow_unicode=True), encoding="utf-8")
    args = ["convert", str(source), "--practice", str(DEMO), "--to", str(folder / "out"), *options]
    return CliRunner().invoke(main, args)


def made(folder: Path) -> list[str]:
    out = folder / "out"
    return sorted(p.name for p in out.iterdir()) if out.exists() else []


def report(result: Result) -> Any:
    return json.loads(result.output)


def told(result: Result) -> dict[str, str]:
    """Rules with their severities; without those that look over the record as a colleague would."""
    issues = report(result)["issues"]
    return {i["rule"]: i["severity"] for i in issues if not re.match("C[2-5]", i["rule"])}


@pytest.mark.parametrize(
    ("sharing", "state", "files", "codes"),
    [
        (BOTH, "ready", ["M26-0201.bundle.json", "M26-0201.referral.bundle.json"], set()),
        (ONLY_REFERRAL, "ready", ["M26-0201.referral.bundle.json"], {"D101"}),
        ({**GIVEN, "recipients": ["ENT"]}, "ready", ["M26-0201.referral.bundle.json"], {"D101"}),
        (ONLY_SUMMARY, "need you", [], {"D127"}),
        ({"status": "refused", "reason": "wants to tell them herself"}, "no letter due", [], {"D101", "D138"}),
        (None, "need you", [], {"D110"}),
    ],
)
def test_consent_decides_which_letters(
    tmp_path: Path, sharing: Any, state: str, files: list[str], codes: set[str]
) -> None:
    result = run(tmp_path, "--json", sharing=sharing)
    found = report(result)
    assert made(tmp_path) == files
    assert set(told(result)) == codes
    assert [r["state"] for r in found["records"]] == [state]
    assert [found["figures"].get(k, 0) for k in ("visit summaries", "referral letters")] == [
        sum(name.endswith("0201.bundle.json") for name in files),
        sum("referral" in name for name in files),
    ]


def test_what_one_letter_lacks_keeps_back_both(tmp_path: Path) -> None:
    result = run(tmp_path, "--json", sharing=BOTH, referral__question=None, medicines=None)
    assert made(tmp_path) == []
    assert told(result) == {"D120": "error", "D126": "error"}
    about = [i["message"] for i in report(result)["issues"] if not re.match("C[2-5]", i["rule"])]
    assert about
    assert all("referral letter" in message for message in about)
    assert result.exit_code == 1


def test_an_immediate_one_without_a_call_is_made_and_told(tmp_path: Path) -> None:
    result = run(tmp_path, "--json", "--letters", referral__told_by=None)
    assert told(result) == {"D130": "warning"}
    assert "No call is recorded (26 May 2026, 12:00; taken by" in (tmp_path / "out/M26-0201.referral.html").read_text(
        encoding="utf-8"
    )
    assert made(tmp_path) == [
        "M26-0201.bundle.json", "M26-0201.html", "M26-0201.referral.bundle.json", "M26-0201.referral.html"
    ]  # fmt: skip


def test_either_document_conforms_and_gives_the_same_visit(tmp_path: Path) -> None:
    run(tmp_path)
    bundles = [json.loads((tmp_path / "out" / name).read_text(encoding="utf-8")) for name in made(tmp_path)]
    assert len(bundles) == 2
    assert [i for b in bundles for i in check_bundle(b) if i.severity >= Severity.warning] == []
    (one, _), (other, _) = map(bundle_to_visits, bundles)
    assert one == other != []


def test_letter_makes_the_page_of_either_under_its_name(tmp_path: Path) -> None:
    run(tmp_path, "--letters")
    out = tmp_path / "out"
    pages = {p.name: p.read_bytes() for p in out.glob("*.html")}
    for page in out.glob("*.html"):
        page.unlink()
    args = ["letter", "--as", "html", *map(str, sorted(out.glob("*.bundle.json")))]
    assert CliRunner().invoke(main, args).exit_code == 0
    assert {p.name.replace(".draft", ""): p.read_bytes() for p in out.glob("*.html")} == pages
    assert len(pages) == 2


def test_check_tells_of_records_what_convert_would(tmp_path: Path) -> None:
    run(tmp_path)
    args = ["check", str(tmp_path / "visit.yaml"), "--practice", str(DEMO), "--json"]
    result = CliRunner().invoke(main, args)
    assert [report(result)["figures"].get(k) for k in ("ready", "referral letters")] == [1, 1]
    args = ["check", *map(str, sorted((tmp_path / "out").glob("*.json")))]
    lines = CliRunner().invoke(main, args).output.splitlines()
    assert [line for line in lines if line.startswith("2 documents checked")] != []


def test_what_is_left_from_before_is_told_by_kind(tmp_path: Path) -> None:
    run(tmp_path, approved=APPROVED)
    result = run(tmp_path, "--json", approved=APPROVED, sharing=ONLY_REFERRAL)
    issues = {i["rule"]: i["message"] for i in report(result)["issues"]}
    assert issues["D116"] == "M26-0201.bundle.json from an earlier run is still in the folder."
    assert issues["D115"] == "M26-0201.referral.bundle.json was there and said something else."


def test_a_referral_taken_out_of_the_record_is_told(tmp_path: Path) -> None:
    run(tmp_path, approved=APPROVED)
    result = run(tmp_path, "--json", approved=APPROVED, referral=None)
    issues = {i["rule"]: i["message"] for i in report(result)["issues"]}
    assert issues["D116"] == "M26-0201.referral.bundle.json from an earlier run is still in the folder."


def test_a_correction_replaces_the_right_kind(tmp_path: Path) -> None:
    run(tmp_path, version=2, replaces=1, approved=APPROVED)
    for name, kind in (("M26-0201-v2.bundle.json", "summary"), ("M26-0201-v2.referral.bundle.json", "referral")):
        bundle = json.loads((tmp_path / "out" / name).read_text(encoding="utf-8"))
        composition = bundle["entry"][0]["resource"]
        assert bundle["identifier"]["value"] == f"{kind}/M26-0201/2"
        assert composition["relatesTo"][0]["targetIdentifier"]["value"] == f"{kind}/M26-0201/1"


def test_a_correction_does_not_say_that_an_earlier_letter_was_sent(tmp_path: Path) -> None:
    result = run(tmp_path, "--json", "--letters", version=2, replaces=1, approved=APPROVED)
    assert told(result) == {"D139": "information"}
    assert told(run(tmp_path, "--json", approved=APPROVED)) == {}
    for page in (tmp_path / "out").glob("M26-0201-v2*.html"):
        words = page.read_text(encoding="utf-8")
        assert "replaces what was sent for version 1 of this record, if anything was" in words
        assert "corrects version" not in words


@pytest.mark.parametrize("written", [{"to": "none"}, {"to": "N/A"}, "no", {"to": "nil", "question": ""}])
def test_a_referral_to_nobody_is_none(tmp_path: Path, written: Any) -> None:
    result = run(tmp_path, "--json", referral=written, sharing=ONLY_SUMMARY)
    assert told(result) == {}
    assert made(tmp_path) == ["M26-0201.bundle.json"]


@pytest.mark.parametrize("kind", ["document", "transaction", "collection", "ndjson"])
@pytest.mark.parametrize("to", ["declined", "ENT if no better", "GP to refer ENT", "none"])
def test_a_place_that_is_none_is_no_order_in_any_form(tmp_path: Path, to: str, kind: str) -> None:
    result = run(tmp_path, "--json", "--as", kind, referral__to=to)
    assert told(result).get("C153") == "error"
    assert made(tmp_path) == []


def test_an_unknown_place_goes_out_in_words_and_is_told(tmp_path: Path) -> None:
    result = run(tmp_path, "--json", referral__to="the ear people at Overby")
    assert told(result) == {"M101": "warning"}
    bundle = json.loads((tmp_path / "out/M26-0201.referral.bundle.json").read_text(encoding="utf-8"))
    (order,) = (e["resource"] for e in bundle["entry"] if e["resource"].get("intent") == "order")
    assert order["code"] == {"text": "the ear people at Overby"}


def test_a_service_beside_the_family_doctor_as_place_gets_nothing(tmp_path: Path) -> None:
    result = run(tmp_path, "--json", referral__to="GP", referral__recipient="EC", sharing=ONLY_SUMMARY)
    assert {"C154", "D127"} <= set(told(result))
    assert made(tmp_path) == []


@pytest.mark.parametrize("as_kind", ["collection", "ndjson"])
def test_a_draft_of_any_kind_is_replaced_without_a_word(tmp_path: Path, as_kind: str) -> None:
    run(tmp_path, "--as", as_kind)
    assert "D115" not in told(run(tmp_path, "--as", as_kind, "--json", referral__question="Please see her today."))
    run(tmp_path, "--as", as_kind, approved=APPROVED)
    changed = run(tmp_path, "--as", as_kind, "--json", approved=APPROVED, referral__question="Please call.")
    assert "D115" in told(changed)


def test_a_transaction_holds_the_referral_without_asking_for_a_letter(tmp_path: Path) -> None:
    result = run(tmp_path, "--as", "transaction", "--json", sharing=ONLY_SUMMARY, referral__question=None)
    assert made(tmp_path) == ["M26-0201.transaction.bundle.json"]
    assert told(result) == {}


def sheet(folder: Path, row: dict[str, str]) -> Result:
    source = folder / "visits-1.csv"
    with source.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, row)
        writer.writeheader()
        writer.writerow(row)
    layout = ROOT / "mappings/layouts/one-row-per-visit.yaml"
    args = ["convert", str(source), "--layout", str(layout), "--practice", str(DEMO), "--to", str(folder / "out")]
    return CliRunner().invoke(main, [*args, "--json"])


@pytest.mark.parametrize("written", ["none", "No", "n/a", "nil", "-"])
def test_a_column_of_referrals_may_say_none(tmp_path: Path, written: str) -> None:
    with (DEMO / "visits-2026.csv").open(encoding="utf-8") as stream:
        row = next(csv.DictReader(stream)) | {"Referred to": written}
    result = sheet(tmp_path, row)
    assert [i["rule"] for i in report(result)["issues"] if i["severity"] == "error"] == []
    assert len(made(tmp_path)) == 1


def test_a_reason_against_sharing_is_told_at_its_cell(tmp_path: Path) -> None:
    with (DEMO / "visits-2026.csv").open(encoding="utf-8") as stream:
        row = next(csv.DictReader(stream)) | {"Why not shared": "does not want the doctor told"}
    result = sheet(tmp_path, row)
    (found,) = (i for i in report(result)["issues"] if i["rule"] == "C147")
    assert "Why not shared" in json.dumps(found)
    assert made(tmp_path) == []


def test_a_sheet_fills_a_referral(tmp_path: Path) -> None:
    """The shipped layout's columns, in a row of the demo's own sheet."""
    with (DEMO / "visits-2026.csv").open(encoding="utf-8") as stream:
        row = next(csv.DictReader(stream))
    row |= {
        "Shared with": "GP; ENT", "Referred to": "ENT", "Referral urgency": "2 weeks", "Referral ear": "R",
        "Referral rule": "local two-week pathway", "Referral reason": "growth of the canal", "Referral call": "phone",
        "Referral question": "Please examine.", "Referral called at": "04/05/2026 10:00", "R since": "2026",
        "Client told of referral": "seen in two weeks", "Medicines": "none", "Allergies": "none known",
    }  # fmt: skip
    result = sheet(tmp_path, row)
    errors = [i["rule"] for i in report(result)["issues"] if i["severity"] == "error"]
    assert errors == [], result.output
    assert len(made(tmp_path)) == 2
