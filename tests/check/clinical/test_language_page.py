"""The page on how a clinical rule is written: its example is loaded as it stands, and no key or kind is left out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from bridge.check.clinical import ClinicalRule, judge, load_rules
from bridge.check.clinical.compile_question import _KINDS
from bridge.check.clinical.compile_rule import KNOWN
from bridge.check.clinical.overlay import _CHANGE, KEYS
from bridge.data import table_path
from tests.check.clinical.looked_at import read

PAGE = table_path("clinical", "README.md").read_text(encoding="utf-8")


def test_its_example_is_a_file_that_a_practice_can_use(tmp_path: Path) -> None:
    (tmp_path / "clinical").mkdir()
    example = PAGE.partition("```yaml\n")[2].partition("```")[0]
    (tmp_path / "clinical" / "own.yaml").write_text(example, encoding="utf-8")
    book = load_rules("uk", tmp_path)
    assert book[-1].code == "C900"
    assert {change.code for change in book.changes} == {"C510", "C566"}
    assert [_verdict(book, advice) for advice in (["keep dry"], ["no cotton buds"], [])] == ["fires", "quiet", "asks"]


def _verdict(book: Sequence[ClinicalRule], advice: list[str]) -> str:
    visit = {
        "number": "V1", "start": "2026-05-03T10:00+01:00", "advice": advice,
        "client": {"number": "C1", "legal_name": {"family": "Rowe"}},
        "right": {"work": [{"method": "microsuction"}]},
    }  # fmt: skip
    found = [one.verdict for one in judge(read(visit), book) if one.rule.code == "C900"]
    return found[0] if found else "quiet"


def test_it_names_every_key_and_kind() -> None:
    named = set(re.findall(r"`(\w+)\b", PAGE))
    inside = {key for kind in _KINDS.values() for key in kind.keys}
    assert (KNOWN | set(_KINDS) | inside | _CHANGE | set(KEYS)) <= named
