"""The client's own copy is made of every visit that can be built, whatever was said about telling others."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.due import LETTERS
from bridge.issues import Severity
from bridge.pipeline import names_of
from tests.test_pipeline import codes, convert

SHARE = "Consent to share"


@pytest.mark.parametrize("answer", ["yes", "no", "not asked", "withdrawn", ""])
def test_whatever_the_consent_to_share_says(tmp_path: Path, answer: str) -> None:
    made = convert(tmp_path, "client", **{SHARE: answer})
    assert made.state == "ready"
    assert [*made.bundles] == ["client"]
    assert made.bundles["client"]["identifier"]["value"].startswith("client/")
    assert not [i for i in made.issues if i.severity >= Severity.error]
    assert not codes(made.issues) & {"D101", "D110", "D114", "D127", "D138"}


def test_without_that_consent_a_letter_to_a_doctor_waits(tmp_path: Path) -> None:
    assert "D110" in codes(convert(tmp_path, **{SHARE: ""}).issues)


def test_it_is_never_due_for_anybody_else() -> None:
    assert "client" not in LETTERS
    assert "client" not in names_of("document")
    assert names_of("client") == ("client",)


def test_a_record_with_errors_gives_none(tmp_path: Path) -> None:
    made = convert(tmp_path, "client", **{"Date of birth": "31/02/1950"})
    assert (made.state, made.bundles) == ("need you", {})
