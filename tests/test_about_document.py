"""What a document says of itself, read from our own documents, and from anything at all without a fault."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.about_document import About, about

BUNDLES = Path(__file__).parents[1] / "demo_bundles"
KEYS = (
    "resourceType",
    "identifier",
    "value",
    "entry",
    "resource",
    "status",
    "period",
    "start",
    "name",
    "type",
    "coding",
)
VALUES = ("Bundle", "Composition", "Patient", "Encounter", "summary/V1/2", "preliminary", "MR", "2026-05-06", "code")
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.sampled_from(VALUES) | st.text(max_size=3),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
    max_leaves=12,
)


def of(name: str) -> About:
    return about(json.loads((BUNDLES / name).read_bytes()))


def test_a_referral_of_ours() -> None:
    said = of("M26-0128.referral.bundle.json")
    assert (said.kind, said.number, said.version, said.draft) == ("referral", "M26-0128", 1, False)
    assert (said.visits, len(said.days), said.language) == ({"M26-0128"}, 1, "en-GB")


def test_a_correction_and_a_draft() -> None:
    assert (of("M26-0101-v2.bundle.json").version, of("M26-0103.bundle.json").draft) == (2, True)


def test_the_whole_record_is_of_a_client_and_several_visits() -> None:
    said = of("summaries/C-1011.ips.bundle.json")
    assert (said.kind, said.number, "C-1011" in said.clients) == ("ips", "C-1011", True)
    assert len(said.visits) > 1


@pytest.mark.parametrize(
    "value", ["summary/a/b/3", "summary//1", "summary/a/0", "summary/a", "letter/a/1", "", None, 5]
)
def test_only_our_own_way_of_numbering_counts(value: Any) -> None:
    said = about({"resourceType": "Bundle", "identifier": {"value": value}})
    assert (said.kind, said.number) == (("summary", "a/b") if value == "summary/a/b/3" else ("", ""))


@settings(max_examples=300, deadline=None)
@given(ANYTHING, ANYTHING)
def test_anything_at_all(one: Any, other: Any) -> None:
    for data in (one, {"resourceType": "Bundle", "identifier": one, "entry": other}, {"entry": [{"resource": one}]}):
        said = about(data)
        assert all(isinstance(text, str) for text in (said.kind, said.number, said.name, said.language))
        assert all(isinstance(text, str) for text in (*said.visits, *said.clients, *said.days))
