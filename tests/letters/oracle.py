"""The whole oracle: what is wrong with a letter, held against its bundle and against the marks of the raw record."""

from __future__ import annotations

from typing import Any

from tests.letters.brief import brief_faults
from tests.letters.evidence import Evidence
from tests.letters.places import drawing_faults, place_faults, side_faults, stray_words
from tests.letters.spoken import Spoken
from tests.letters.table import table_faults


def faults(raw: dict[str, Any], bundle: dict[str, Any], said: Spoken) -> list[str]:
    """Empty where every finding is said in its place, and nothing is said that no element backs."""
    evidence = Evidence(bundle)
    stray = stray_words(evidence, said)
    return [
        *table_faults(evidence, said),
        *brief_faults(evidence, said),
        *place_faults(evidence, said),
        *drawing_faults(evidence, said),
        *side_faults(raw, said),
        *([f"words from nowhere: {stray}"] if stray else []),
    ]
