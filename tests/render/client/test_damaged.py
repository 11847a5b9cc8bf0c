"""Damaged copies and letters of others: never a traceback, and no letter of others is taken for a client's own copy."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from bridge.check import check_bundle
from bridge.fhir.letter_kind import letter_kind
from bridge.fhir.systems import LOINC, OWN
from bridge.render.as_html import render
from tests.render.client.test_client_copy import BASE, bundle
from tests.render.pages import bundle_of
from tests.render.raw_visits import Maker

LETTER = {"system": LOINC, "code": "51852-2"}
JUNK: tuple[Any, ...] = (
    None,
    7,
    True,
    "x",
    "<b>",
    [],
    {},
    [None],
    {"coding": [{}]},
    [[]],
    "2026-13-45",
    {"coding": "x"},
)


def test_damaged_copies_still_give_a_page() -> None:
    rng = random.Random(7)
    whole = [bundle_of(Maker(seed).visit(), "client") for seed in range(8)]
    for turn in range(300):
        damaged = json.loads(json.dumps(whole[turn % 8], default=str))
        for _ in range(rng.choice((1, 3, 30))):
            _damage(damaged["entry"], rng)
        assert b"<script" not in render(damaged, large=bool(turn % 2)).content


def _damage(node: Any, rng: random.Random) -> None:
    while isinstance(node, dict | list) and node:
        key: Any = rng.choice(list(node)) if isinstance(node, dict) else rng.randrange(len(node))
        if rng.random() < 0.15:
            node[key] = rng.choice(JUNK)
            return
        node = node[key]


@pytest.mark.parametrize(
    ("codings", "kind"),
    [
        ([LETTER, {"system": OWN, "code": "document-client"}], "client"),
        ([LETTER], ""),
        ([{"system": LOINC, "code": "34108-1"}], "summary"),
        ([{"system": OWN, "code": "section-client"}], ""),
        ([None, 7], ""),
        ("x", ""),
    ],
)
def test_the_kind_of_a_letter(codings: Any, kind: str) -> None:
    assert letter_kind({"type": {"coding": codings}}) == kind


def test_a_refusal_to_share_does_not_speak_against_the_clients_own_copy_but_against_any_other_letter() -> None:
    copy = bundle(BASE)
    assert "B122" not in {i.rule for i in check_bundle(copy)}
    copy["entry"][0]["resource"]["type"]["coding"] = [LETTER]
    assert "B122" in {i.rule for i in check_bundle(copy)}
