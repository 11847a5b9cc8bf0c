"""demo_bundles/ is what the demo makes, byte for byte, here and on any machine."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from bridge.check import check_bundle
from bridge.issues import Severity
from tests.remake import DEMO_BUNDLES, make_into, outputs

KEPT = outputs(DEMO_BUNDLES)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("dém o") / "visit bridge"
    make_into(folder)
    return outputs(folder)


def test_the_same_files_are_made(made: dict[str, bytes]) -> None:
    assert sorted(made) == sorted(KEPT), "run python -m tests.remake and read the difference"


@pytest.mark.parametrize("name", KEPT)
def test_the_same_bytes_are_made(name: str, made: dict[str, bytes]) -> None:
    assert made[name] == KEPT[name], "run python -m tests.remake and read the difference"


def test_thirty_two_visits_and_their_letters() -> None:
    kinds = ("transactions/.*", "letters/.*html", "letters/.*pdf", "cda/.*", "M26-.*")
    found = {kind: sum(1 for n in KEPT if re.fullmatch(kind, n)) for kind in kinds}
    assert list(found.values()) == [32, 30, 4, 1, 30]
    assert [n for n in KEPT if "referral" in n and n.startswith("M26-")] == [
        "M26-0127.referral.bundle.json", "M26-0128.referral.bundle.json"
    ]  # fmt: skip


@pytest.mark.parametrize("name", [n for n in KEPT if n.endswith(".json")])
def test_no_issue_of_ours_in_the_demo(name: str) -> None:
    found = check_bundle(json.loads(KEPT[name]))
    assert [i for i in found if i.severity >= Severity.warning] == []


def test_of_three_red_flags_one_was_referred_one_has_a_reason_and_one_is_open() -> None:
    """Only the open one keeps its approved record a draft; the referred one is not told at all."""
    letters = {n: json.loads(KEPT[f"M26-{n}.bundle.json"])["entry"][0]["resource"] for n in ("0127", "0130", "0131")}
    first = {n: letter["section"][0]["title"] for n, letter in letters.items()}
    assert first == {"0127": "Plan and requested actions", "0130": "Needs attention now", "0131": "Red flag noted"}
    assert {n: letter["status"] for n, letter in letters.items()} == {
        "0127": "final", "0130": "preliminary", "0131": "final"
    }  # fmt: skip
    assert ["attester" in letter for letter in letters.values()] == [True, False, True]
    others = [n for n in KEPT if n.startswith("M26-") and not re.match(r"M26-01(30|31)", n)]
    assert [n for n in others if b"section-alert" in KEPT[n]] == []


def test_refusal_to_share_leaves_no_document() -> None:
    """Where the client does not want the doctor told there are the practice's transaction and the client's own copy."""
    assert [n for n in KEPT if "M26-0104" in n and not n.startswith("transactions/")] == [
        "letters/M26-0104.client.draft.pdf"
    ]
    assert Path("transactions/M26-0104.transaction.bundle.json").as_posix() in KEPT
