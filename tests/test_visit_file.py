"""visit -> YAML file -> visit is the identity for every field; what a person reads there is in the model's order."""

from __future__ import annotations

import os
import random
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml

from bridge.read.ledger import Ledger
from bridge.read.visits_yaml import read_yaml_visits
from bridge.visit import Visit
from bridge.visit_file import visit_file
from tests import generate

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "200"))
ZONE = ZoneInfo("Europe/London")
TRICKY = (
    "yes", "no", "null", "~", "1:30", "2026-05-06", "0x1F",
    "- dash", "# hash", "a: b", "{brace}", "*star", "&amp", "!tag",
    "'quote'", '"quote"', "%percent", "@at", "`tick", "| bar", "> more", "colon:", "two\nlines", "ends \n with blanks",
    " nbsp\u00a0inside", "\u2028line", "\u0085next", "\ufeffmark", "👂 ear", "a\ttab", "...", "---", "x" * 200,
)  # fmt: skip

WHEN_NO_TEXT = ("2026-05-06",)
"""Days stand as they are in every field; other readers take one for a day, ours for the words that it is."""
CLIENT = {"number": "C-1", "legal_name": {"family": "Bell"}}


def back(content: bytes, folder: Path) -> Visit | None:
    path = folder / "visit.yaml"
    path.write_bytes(content)
    (reading,) = read_yaml_visits(path, ZONE, Ledger())
    assert reading.issues == []
    return reading.visit and reading.visit.model_copy(update={"source_sha256": None})


def test_many_visits_come_back(tmp_path: Path) -> None:
    for seed in range(MANY):
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        assert back(visit_file(visit), tmp_path) == visit.model_copy(update={"source_sha256": None}), f"seed {seed}"


@pytest.mark.parametrize("words", TRICKY)
def test_words_come_back_as_they_are(words: str, tmp_path: Path) -> None:
    visit = Visit.model_validate(
        {"number": "V-1", "client": CLIENT, "start": "2026-05-06", "note": words, "reasons": [words]}
    )
    assert back(visit_file(visit), tmp_path) == visit
    if words.strip() == words and words not in WHEN_NO_TEXT:
        assert yaml.safe_load(visit_file(visit))["note"] == words  # another reader of YAML takes it for the same words


def test_fields_stand_in_the_order_of_the_model_and_empty_ones_not_at_all() -> None:
    visit = generate.visit(random.Random(3))
    data = yaml.safe_load(visit_file(visit, ("One note.",)))
    assert list(data) == [name for name in Visit.model_fields if name in data]
    assert "None" not in visit_file(visit).decode()
    assert "source_sha256" not in data


def test_notes_and_the_digest_stand_above_it() -> None:
    digest = "0" * 64
    visit = Visit.model_validate(
        {"number": "V-1", "client": CLIENT, "start": "2026-05-06T10:15+01:00", "source_sha256": digest}
    )
    assert visit_file(visit, ("One note.",)).decode().splitlines() == [
        "# One note.",
        f"# SHA-256 of the record that it was made from: {digest}",
        "number: V-1",
        "client:",
        "  number: C-1",
        "  legal_name: {family: Bell}",
        "start: 2026-05-06T10:15+01:00",
        "recorded_at: 2026-05-06T10:15+01:00",
    ]
