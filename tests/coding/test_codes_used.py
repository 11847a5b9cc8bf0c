"""Every free SNOMED CT code verified for ear care is what some word stands for, or a reason says why not."""

from __future__ import annotations

from pathlib import Path

from bridge.coding import load_term_maps
from bridge.data import load_csv
from tests.test_mappings import NOT_FOR_WRITING, reference

NOT_FOR_WORDS = Path(__file__).parent / "codes-not-for-words.csv"


def test_every_free_code_is_used_or_left_out_for_a_reason() -> None:
    used = {code.removeprefix("sct:") for concept in load_term_maps().concepts.values() for code in concept.codes}
    left_out = {row["code"]: row["why"] for row in load_csv(NOT_FOR_WORDS)}
    free = {
        row["code"]
        for row in reference("snomed-ear.csv")
        if row["free_set"] != "no" and not NOT_FOR_WRITING.search(row["preferred_use"])
    }
    assert free - used == set(left_out)
    assert all(left_out.values())
    assert len(free & used) >= 100
