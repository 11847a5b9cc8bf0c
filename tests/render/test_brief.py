"""The sentences in brief, judged in the very words: each answer, each ending, one ear, both alike, both different."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.coding import code_visit, load_term_maps
from bridge.data import load_yaml
from bridge.render.letter import page_of
from bridge.render.page import Text
from bridge.visit import Visit

BASE: dict[str, Any] = {"number": "B1", "start": "2026-11-03", "client": {"legal_name": {"family": "Quill"}}}


def told(**changes: Any) -> str:
    visit, _ = code_visit(Visit.model_validate(BASE | changes), load_term_maps())
    page = page_of(build_document(visit, UUID(int=7), ZoneInfo("Europe/London")))
    (section,) = [s for s in page.sections if s.key == "brief"] or [None]
    if section is None:
        return ""
    (block,) = section.blocks
    assert isinstance(block, Text)
    return block.words


SWAPPED = {"right": "left", "left": "right"}
CASES = load_yaml(Path(__file__).with_name("brief.yaml"))


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_in_brief(case: dict[str, Any]) -> None:
    assert told(**case["record"]) == case["words"]


def _other_ear(caution: dict[str, Any]) -> dict[str, Any]:
    return caution | ({"ear": SWAPPED[caution["ear"]]} if "ear" in caution else {})


@pytest.mark.parametrize("ear", ["right", "left"])
def test_the_other_ear_is_told_alike(ear: str) -> None:
    """Every case with the ears changed over gives the sentences with the ears changed over, but for their order."""

    def clauses(words: str) -> set[str]:
        return {c.strip().lower() for c in re.split(r"[.;]( |$)", words)}

    def over(words: str) -> str:
        return words.replace("right", "\0").replace("left ear", "right ear").replace("\0", "left")

    for case in CASES:
        if ear in case["record"]:
            swapped = {SWAPPED.get(k, k): v for k, v in case["record"].items()}
            swapped |= {"cautions": [_other_ear(c) for c in swapped.get("cautions", ())]}
            assert clauses(told(**swapped)) == clauses(over(case["words"])), case["name"]


def test_five_sentences_are_enough() -> None:
    for case in CASES:
        assert 1 <= len(re.findall(r"\.(?: |$)", case["words"])) <= 5, case["name"]
