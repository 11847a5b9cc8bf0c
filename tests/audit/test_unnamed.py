"""No page, table or message of an audit shows a client's name, also where somebody typed it among the words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from bridge.cli import main
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
TYPED = {
    "symptoms": ["Zebedeeson itch", "07700 900123 rang"],
    "before": {"wax": {"amount": "heavy", "colour": ["zebedeish"]}, "canal": {"findings": ["lump, says Quorn"]}},
}


def visit(number: int) -> dict[str, object]:
    return {
        "number": f"N-{number}",
        "practitioners": ["PS"],
        "client": {"number": f"K-{number}", "legal_name": {"family": "Zebedeeson", "given": ["Quorn", "Heavy"]}},
        "start": f"2026-01-1{number}",
        "sharing": {"status": "given"},
        "right": TYPED,
    }


def foreign(number: int) -> dict[str, object]:
    """A bundle of another maker, of which no visit can be read."""
    patient = {"resourceType": "Patient", "id": f"p{number}", "name": [{"text": "Quorn Zebedeeson"}]}
    condition = {
        "resourceType": "Condition",
        "subject": {"reference": f"Patient/p{number}"},
        "code": {"text": "Zebedeeson itch"},
    }
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": patient}, {"resource": condition}]}


@pytest.mark.parametrize("kind", ["records", "bundles"])
def test_a_name_among_the_words_is_not_shown(kind: str, tmp_path: Path) -> None:
    for number in range(1, 7):
        said = visit(number) if kind == "records" else foreign(number)
        ending = "yaml" if kind == "records" else "json"
        (tmp_path / f"f{number}.{ending}").write_text(json.dumps(said), "utf-8")
    files = ["--html", str(tmp_path / "a.html"), "--csv", str(tmp_path / "a.csv"), "--replace", "--verbose"]
    run = ["audit", "run", str(tmp_path), "--practice", str(DEMO), "--fail-on", "never", *files]
    told = [CliRunner().invoke(main, run), CliRunner().invoke(main, [*run, "--json"])]
    assert [one.exit_code for one in told] == [0, 0], told[0].output
    shown = "\n".join(
        [*(one.output for one in told), *((tmp_path / f"a.{e}").read_text("utf-8") for e in ("html", "csv"))]
    )
    assert "words not shown" in shown
    assert not [word for word in ("zebedeeson", "quorn", "900123") if word in shown.casefold()]
    if kind == "records":
        assert "zebedeish" in shown, "other words that no list knows are what the audit is for"
        assert "heavy" in shown, "a name that is a word of the trade is no name here"
    rates = json.loads(told[1].stdout[told[1].stdout.index("{") :])["rates"]
    assert rates["text-only"]["count"] == (24 if kind == "records" else 6)
