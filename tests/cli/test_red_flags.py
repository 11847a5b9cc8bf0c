"""A red flag that nobody answered, from the record to the page: told first, held as a draft, never silent."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.clinical_caution import clinical_caution
from bridge.data import mappings_root

REFERRAL = {
    "to": "ENT emergency clinic", "recipient": "EC", "rule": "RF01", "ear": "right", "told_by": "phone",
    "told_at": "2026-11-09T10:50+00:00", "reason": "Hearing lost within a day.", "question": "Please see today.",
    "told_to": "the doctor on call", "agreed": "To come at noon.", "client_told": "To go there at noon.",
}  # fmt: skip
REASON = "The emergency clinic saw her this morning."


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    demo = mappings_root() / "demo"
    for name in ("practice.yaml", "doctors.csv"):
        shutil.copy(demo / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    return tmp_path


def record(**changes: Any) -> str:
    """The demo's visit with an open flag, changed; as a file in the folder."""
    text = (mappings_root() / "demo/visits/M26-0130.yaml").read_text(encoding="utf-8")
    visit = yaml.load(text, yaml.BaseLoader) | changes  # noqa: S506 - makes texts only
    Path("visit.yaml").write_text(yaml.safe_dump({k: v for k, v in visit.items() if v is not None}), encoding="utf-8")
    return "visit.yaml"


def run(*args: str) -> Result:
    return CliRunner().invoke(main, args)


def found(*args: str) -> dict[str, Any]:
    report: dict[str, Any] = json.loads(run(*args, "--report", "json").stdout)
    return report


def rules(report: dict[str, Any], attention: bool = False) -> set[str]:
    return {i["rule"] for i in report["issues"] if i["severity"] == "warning" and (not attention or i["attention"])}


def composition(name: str = "M26-0130.bundle.json") -> dict[str, Any]:
    letter: dict[str, Any] = json.loads((Path("bundles") / name).read_text())["entry"][0]["resource"]
    return letter


def test_an_open_flag_is_told_first_and_holds_the_approval_back(here: Path) -> None:
    result = run("convert", record(), "--letters")
    lines = result.stdout.splitlines()
    assert result.exit_code == 0
    assert lines[0] == "Needs attention now"
    assert "C201" in lines[4]
    said = " ".join(result.stdout.split())
    assert "1 visit: 1 ready, 1 draft among the ready, 1 approval held back" in said
    assert "D170" in said
    assert said.endswith(clinical_caution())
    assert max(map(len, lines)) <= 80
    letter = composition()
    assert (letter["section"][0]["title"], letter["status"]) == ("Needs attention now", "preliminary")
    assert "attester" not in letter
    page = (here / "bundles" / "M26-0130.html").read_text(encoding="utf-8")
    assert page.index("Needs attention now</h2>") < page.index("Action for you</h2>")


def test_quiet_does_not_silence_it(here: Path) -> None:
    said = run("convert", record(), "--quiet").stdout
    assert said.startswith("Needs attention now")
    assert ["D170" in said, "C452" in said] == [True, False]
    assert run("convert", record(not_referred=REASON), "--quiet").stdout == ""


def test_nothing_of_the_client_is_told_in_the_report(here: Path) -> None:
    said = run("convert", record()).stdout
    assert [word for word in ("Tansworth", "Oriel", "1966", "9996352099", "Skinner") if word in said] == []


@pytest.mark.parametrize("form", ["text", "json", "outcome"])
def test_check_tells_it_too_with_the_caution(here: Path, form: str) -> None:
    result = run("check", record(), "--report", form)
    assert "C201" in result.stdout
    assert " ".join(result.stdout.split()).count(clinical_caution()) == 1


def test_a_referral_as_fast_as_the_flag_leaves_nothing_to_tell(here: Path) -> None:
    report = found("convert", record(referral={**REFERRAL, "urgency": "immediate"}, sharing=_shared()))
    assert not rules(report) & {"C201", "D170", "D171"}
    assert composition()["status"] == "final"
    assert composition()["section"][0]["title"] != "Needs attention now"


@pytest.mark.parametrize(("urgency", "ear"), [("routine", "right"), ("urgent", "right"), ("immediate", "left")])
def test_a_slower_referral_or_one_of_the_other_ear_leaves_it_open(here: Path, urgency: str, ear: str) -> None:
    report = found("convert", record(referral={**REFERRAL, "urgency": urgency, "ear": ear}, sharing=_shared()))
    assert "C201" in rules(report, attention=True)
    assert "D170" in rules(report)
    assert ("D171" in rules(report)) is (ear == "right")


@pytest.mark.parametrize(
    "reason", [REASON, {"reason": REASON, "rules": ["RF01"]}, {"reason": REASON, "rules": ["C201"]}]
)
def test_a_reason_lets_the_approval_stand_and_goes_along(here: Path, reason: Any) -> None:
    report = found("convert", record(not_referred=reason))
    assert not rules(report) & {"C201", "D170", "D172"}
    letter = composition()
    assert (letter["status"], letter["section"][0]["title"]) == ("final", "Red flag noted")
    assert REASON in letter["section"][0]["text"]["div"]
    assert report["caution"] == clinical_caution()
    assert REASON not in json.dumps(report)


@pytest.mark.parametrize("reason", ["-", "n/a", {"reason": REASON, "rules": ["RF02"]}])
def test_no_reason_and_a_reason_for_another_flag_answer_nothing(here: Path, reason: Any) -> None:
    report = found("convert", record(not_referred=reason))
    assert {"C201", "D170"} <= rules(report)
    assert ("D172" in rules(report)) is isinstance(reason, dict)


def test_without_consent_there_is_no_letter_and_the_flag_is_told_all_the_same(here: Path) -> None:
    report = found("convert", record(sharing={"status": "refused", "reason": "tells the doctor herself"}))
    assert "C201" in rules(report, attention=True)
    assert report["records"][0]["state"] == "no letter due"


def test_a_draft_stays_a_draft_and_no_approval_is_spoken_of(here: Path) -> None:
    report = found("convert", record(approved=None))
    assert "C201" in rules(report, attention=True)
    assert "D170" not in rules(report)
    assert report["figures"]["approvals held back"] == 0


@pytest.mark.parametrize("kind", ["transaction", "collection"])
def test_other_forms_are_drafts_too(here: Path, kind: str) -> None:
    assert "D170" in rules(found("convert", record(), "--as", kind))
    made = json.loads((here / "bundles" / f"M26-0130.{kind}.bundle.json").read_text())
    assert "Needs attention now" in json.dumps(made) or kind == "collection"
    assert [e for e in made["entry"] if "attester" in json.dumps(e)] == []


def test_the_summary_of_the_whole_record_is_not_approved_either(here: Path) -> None:
    sharing = {"status": "given", "scope": ["visit summary", "whole record"]}
    states = []
    for reason in (None, REASON):
        run("convert", record(sharing=sharing, not_referred=reason), "--as", "ips", "--to", "whole")
        (made,) = (here / "whole").glob("*.ips.bundle.json")
        states.append(json.loads(made.read_text(encoding="utf-8"))["entry"][0]["resource"]["status"])
    assert states == ["preliminary", "final"]


def test_the_finished_letter_says_it_again_when_it_is_checked_and_shown(here: Path) -> None:
    run("convert", record())
    assert "C201" in rules(found("check", "bundles/M26-0130.bundle.json"), attention=True)
    shown = run("letter", "bundles/M26-0130.bundle.json", "--as", "html", "--to", "pages")
    assert shown.exit_code == 0
    assert "C201" in shown.stdout
    page = (here / "pages" / "M26-0130.draft.html").read_text(encoding="utf-8")
    assert page.index("Needs attention now</h2>") < page.index("Action for you</h2>")


def _shared() -> dict[str, Any]:
    return {"status": "given", "recipients": ["family doctor", "ENT emergency clinic"],
            "scope": ["visit summary", "referral"], "form": "verbal", "at": "2026-11-09T10:32+00:00"}  # fmt: skip


def test_a_flag_that_the_practice_switched_off_is_never_silent(here: Path) -> None:
    (here / "clinical").mkdir()
    change = {"code": "C201", "switch": False, "reason": "Our own pathway looks at these."}
    (here / "clinical" / "own.yaml").write_text(yaml.safe_dump({"changes": [change]}), encoding="utf-8")
    said = " ".join(run("convert", record(), "--quiet").stdout.split())
    assert said.startswith("Needs attention now")
    assert "C594" in said
    assert composition()["status"] == "final"
    assert "C594" in run("check", "bundles/M26-0130.bundle.json").stdout
    assert run("convert", record(not_referred=REASON), "--quiet").stdout == ""
    referral = {**REFERRAL, "urgency": "immediate"}
    assert "C594" not in rules(found("convert", record(referral=referral, sharing=_shared())))


def test_a_final_document_with_an_open_flag_is_not_written_anew_in_silence(here: Path) -> None:
    run("convert", record(not_referred=REASON))
    bundle = json.loads((here / "bundles" / "M26-0130.bundle.json").read_text())
    for entry in bundle["entry"]:
        entry["resource"].pop("reason" if entry["resource"]["resourceType"] == "Provenance" else "", None)
    (here / "theirs.json").write_text(json.dumps(bundle), encoding="utf-8")
    for way in (["convert", "theirs.json", "--format", "xml", "--to", "anew"], ["letter", "theirs.json"]):
        said = run(*way, "--quiet").stdout
        assert said.startswith("Needs attention now")
        assert "C201" in said
