"""What is plainly told where nothing can be doubted comes back from a document, however the record says it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.pipeline import Converter
from bridge.practice import load_practice
from bridge.shapes import Reading
from bridge.visit import Visit
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
CODED = [{"system": "http://snomed.info/sct", "code": "300916003", "display": "Latex allergy"}]


@pytest.mark.parametrize("codings", [[], CODED])
@pytest.mark.parametrize(
    "said",
    [
        lambda term: {"allergies": {"items": [{"term": term}]}},
        lambda term: {"medicines": {"items": [{"name": term}]}},
        lambda term: {"reasons": [term]},
        lambda term: {"advice": [{"term": term}]},
    ],
)
def test_present_is_what_it_is_unless_somebody_says_otherwise(said: Any, codings: list[Any], tmp_path: Path) -> None:
    practice, _ = load_practice(DEMO)
    assert practice is not None
    term = {"text": "zorkolin", "assertion": "present", "codings": codings}
    visit = Visit.model_validate(
        {
            "number": "V1",
            "start": "2026-03-02T10:00+00:00",
            "practitioners": ["PS"],
            "client": {"legal_name": {"family": "Quill"}, "birth_date": "1950-03-04"},
            "sharing": {"status": "refused"},
            "right": {"before": {"wax": "none"}},
            **said(term),
        }
    )
    made = Converter(practice, tmp_path).one(Reading(visit, []), "collection")
    assert [i.message for i in made.issues if i.rule == "D112"] == []
    assert made.state == "ready"
