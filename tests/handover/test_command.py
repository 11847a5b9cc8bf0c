"""`visit-bridge handover` as a person calls it: what has to be chosen, what is written, and what it never says."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.parcel import opened
from bridge.receive import bundle_to_visits
from tests.remake import make_into

NAMES = ("Castlemoor", "Winifred", "9991862528", "999 186 2528", "1941")
"""Of client C-1011 in the invented clinic's records."""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("handover") / "demo"
    make_into(folder)
    return folder


def handover(
    demo: Path, to: Path, *words: str, client: str = "C-1011", source: str = "records", later: str = "2026-11-26"
) -> Result:
    practice = ["--practice", str(demo / "practice"), "--to", str(to), "--date", later]
    return CliRunner().invoke(main, ["handover", client, str(demo / source), *words, *practice])


@pytest.mark.parametrize(
    "words",
    [(), ("--plain", "--passphrase"), ("--plain", "--for-key", "age1x"), ("--passphrase", "--for-key", "age1x")],
)
def test_how_it_is_closed_is_chosen_once(demo: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    result = handover(demo, tmp_path / "out", "--unsigned", *words)
    assert result.exit_code == 2
    for choice in ("--for-key", "--passphrase", "--plain"):
        assert choice in result.output
    assert not (tmp_path / "out").exists()


def test_it_is_signed_or_that_is_said(demo: Path, tmp_path: Path) -> None:
    result = handover(demo, tmp_path, "--plain")
    assert result.exit_code == 3
    assert "--unsigned" in result.output
    assert [*tmp_path.iterdir()] == []
    result = handover(demo, tmp_path, "--plain", "--unsigned")
    assert (result.exit_code, "D189" in result.output) == (0, True)


@pytest.mark.parametrize("person", ["PS", "ps", "Petra Sandholt"])
def test_who_hands_over_is_told_on_the_page_and_in_the_manifest(demo: Path, tmp_path: Path, person: str) -> None:
    result = handover(demo, tmp_path, "--plain", "--unsigned", "--by", person)
    assert result.exit_code == 0, result.output
    folder = tmp_path / "C-1011-handover"
    assert json.loads((folder / "manifest.json").read_bytes())["by"]["practitioner"] == "Petra Sandholt, Ear-care nurse"
    page = (folder / "index.html").read_text("utf-8")
    assert re.search("Handed over by.{1,80}Petra Sandholt, Ear-care nurse", page, re.DOTALL)


def test_who_hands_over_is_somebody_of_the_practice(demo: Path, tmp_path: Path) -> None:
    result = handover(demo, tmp_path, "--plain", "--unsigned", "--by", "ZZ")
    assert result.exit_code == 2
    assert "PS" in result.output
    assert [*tmp_path.iterdir()] == []


def test_a_plain_folder(demo: Path, tmp_path: Path) -> None:
    result = handover(demo, tmp_path, "--plain", "--unsigned", "--json")
    assert result.exit_code == 0, result.output
    report = json.loads(result.stdout)
    folder = tmp_path / "C-1011-handover"
    assert report["files"] == [{"path": str(folder), "state": "written", "record": "C-1011"}]
    found = opened(folder, unsigned=True)
    assert found.manifest is not None
    assert found.ok, [(i.rule, i.message) for i in found.issues]
    assert {"visits": 2, "letters": 2}.items() <= found.manifest.counts.items()
    assert (found.manifest.about.client, found.manifest.about.made) == ("C-1011", "2026-11-26")
    visits = [bundle_to_visits(json.loads(p.content))[0] for n, p in found.pieces.items() if n.startswith("visits/")]
    assert sorted(v.number for (v,) in visits) == ["M26-0111", "M26-0112"]
    again = handover(demo, tmp_path, "--plain", "--unsigned", "--json")
    assert json.loads(again.stdout)["files"][0]["state"] == "unchanged"


def test_what_stands_there_is_left_and_replaced_on_wish(demo: Path, tmp_path: Path) -> None:
    assert handover(demo, tmp_path, "--plain", "--unsigned").exit_code == 0
    visits = "records/visits"
    half = handover(demo, tmp_path, "--plain", "--unsigned", "--date", "2026-11-27", source=visits)
    other = CliRunner().invoke(
        main, ["handover", "C-1011", str(demo / visits), "--plain", "--unsigned", "--to", str(tmp_path), "--date",
               "2026-12-01", "--practice", str(demo / "practice")],
    )  # fmt: skip
    assert half.exit_code == 0
    assert (other.exit_code, "D175" in other.output) == (1, True)
    assert str(tmp_path) not in other.stdout.splitlines()[0], "what was left is not told as written"
    more = CliRunner().invoke(
        main, ["handover", "C-1011", str(demo / visits), "--plain", "--unsigned", "--to", str(tmp_path), "--date",
               "2026-12-01", "--practice", str(demo / "practice"), "--replace", "--json"],
    )  # fmt: skip
    assert json.loads(more.stdout)["files"][0]["state"] == "replaced"


def figures(result: Result) -> dict[str, int]:
    found: dict[str, int] = json.loads(result.stdout)["figures"]
    return found


def test_a_refused_hand_over_counts_nothing_as_handed_over(
    demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = handover(demo, tmp_path, "--plain", "--unsigned", "--json")
    assert figures(first)["files in the hand-over"] > 5
    monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", "five invented words of ours")
    handover(demo, tmp_path, "--passphrase", "--unsigned")
    for words in (("--plain",), ("--passphrase",)):
        left = handover(demo, tmp_path, "--unsigned", *words, later="2026-12-01")
        assert (left.exit_code, "D175" in left.output) == (1, True)
        assert "hand-over," not in left.output.splitlines()[-2] + left.output.splitlines()[-1]
        again = handover(demo, tmp_path, "--unsigned", "--json", *words, later="2026-12-01")
        assert "letters" not in figures(again)
        assert (figures(again)["visits"], figures(again)["files in the hand-over"]) == (2, 0)
        assert "D189" not in again.output, "nothing that was not handed over is unsigned"
    nobody = handover(demo, tmp_path, "--plain", "--unsigned", "--json", client="C-9999")
    assert figures(nobody)["files in the hand-over"] == 0


@pytest.mark.parametrize("reader", ["clinic", "client"])
def test_no_hand_over_before_a_visit_that_it_holds(demo: Path, tmp_path: Path, reader: str) -> None:
    words = ("--plain", "--unsigned", "--for", reader)
    assert handover(demo, tmp_path, *words).exit_code == 0
    folder = next(tmp_path.iterdir())
    pieces = opened(folder, unsigned=True).pieces
    days = [
        json.loads(p.content)["entry"][0]["resource"]["date"][:10] for n, p in pieces.items() if n.startswith("visits/")
    ]
    newest = date.fromisoformat(max(days))
    before = handover(demo, tmp_path / "out", *words, later=str(newest - timedelta(days=1)))
    assert (before.exit_code, "--date" in before.output) == (2, True)
    assert not (tmp_path / "out").exists()
    assert str(newest) not in before.output
    assert handover(demo, tmp_path / "out", *words, later=str(newest)).exit_code == 0


def test_sealed_with_a_passphrase(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result = handover(demo, tmp_path, "--passphrase", "--unsigned")
    assert result.exit_code == 2, "no terminal, no passphrase"
    monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", "short")
    assert handover(demo, tmp_path, "--passphrase", "--unsigned").exit_code == 2
    right = "five invented words of ours"
    monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", right)
    result = handover(demo, tmp_path, "--passphrase", "--unsigned")
    assert result.exit_code == 0, result.output
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "C-1011-handover.how-to-open.txt", "C-1011-handover.zip.age",
    ]  # fmt: skip
    assert right not in result.output
    assert str(tmp_path / "C-1011-handover.zip.age") in result.stdout.splitlines(), "it says where"
    assert opened(tmp_path / "C-1011-handover.zip.age", passphrase=right, unsigned=True).ok
    assert handover(demo, tmp_path, "--passphrase", "--unsigned").exit_code == 1, "it stands there already"
    assert handover(demo, tmp_path, "--passphrase", "--unsigned", "--replace").exit_code == 0


def test_signed_and_sealed_for_a_key(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import pyrage

    from bridge.parcel import signing_key, spoken
    from bridge.parcel.keys import new_signing_key

    identity, text = pyrage.x25519.Identity.generate(), new_signing_key()
    monkeypatch.setenv("VISIT_BRIDGE_SIGNING_KEY", text)
    result = handover(demo, tmp_path, "--for-key", str(identity.to_public()))
    assert result.exit_code == 0, result.output
    assert spoken(signing_key(text).fingerprint) in result.output
    assert json.loads(text)["d"] not in result.output
    found = opened(tmp_path / "C-1011-handover.zip.age", identities=[str(identity)])
    assert found.ok
    assert found.signer is not None
    assert found.signer.fingerprint == signing_key(text).fingerprint
    assert handover(demo, tmp_path / "x", "--for-key", "Nobody").exit_code == 2
    assert handover(demo, tmp_path / "x", "--for-key", "age1nonsense").exit_code == 3


@pytest.mark.parametrize("form", ["text", "json", "csv", "outcome"])
def test_no_report_names_the_client(demo: Path, tmp_path: Path, form: str) -> None:
    for words in ((), ("--for", "client")):
        result = handover(demo, tmp_path, "--plain", "--unsigned", "--verbose", "--report", form, *words)
        assert result.exit_code == 0
        assert [name for name in NAMES if name in result.output] == []


def test_quiet_says_nothing_when_all_is_well(demo: Path, tmp_path: Path) -> None:
    result = handover(demo, tmp_path, "--plain", "--unsigned", "--quiet")
    assert (result.exit_code, result.output) == (0, "")


def test_a_number_that_nobody_has(demo: Path, tmp_path: Path) -> None:
    result = handover(demo, tmp_path / "out", "--plain", "--unsigned", client="C-9999")
    assert (result.exit_code, "D180" in result.output) == (1, True)
    assert not (tmp_path / "out").exists()


def test_clients_of_the_demo_or_why_not(demo: Path, tmp_path: Path) -> None:
    """Whoever can be handed over is; of the others the report says why. Every fourth client, for the time it takes."""
    numbers: set[str] = set()
    for path in demo.glob("*.bundle.json"):
        numbers |= set(re.findall(r'"value": "(C-\d+)"', path.read_text(encoding="utf-8")))
    assert len(numbers) > 15
    told: dict[str, Any] = {}
    for number in sorted(numbers)[::4]:
        result = handover(demo, tmp_path, "--plain", "--unsigned", "--json", client=number)
        told[number] = (result.exit_code, (tmp_path / f"{number}-handover").is_dir())
        if result.exit_code:
            assert {"D181", "D180"} & {i["rule"] for i in json.loads(result.stdout)["issues"]}
    assert set(told.values()) == {(0, True), (1, False)}
    assert sum(code == 0 for code, _ in told.values()) > len(told) / 2
