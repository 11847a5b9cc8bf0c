"""Terms of visits that arrived get our meanings from the codes of others, or from their exact words.

The codes are SNOMED CT's, as mappings/codes holds them: 60442001 perforation of the eardrum.
"""

from __future__ import annotations

from typing import Any

import pytest

from bridge.coding import load_term_maps, recognised
from bridge.fhir.systems import OWN, SCT
from bridge.visit import Visit, terms_of
from bridge.visit.base import Coding, Term

MAPS = load_term_maps(licensed=True)
PERFORATION = Coding(system=SCT, code="60442001")


FIELDS: dict[str, Any] = {
    "drum": lambda term: {"right": {"before": {"drum": [term]}}},
    "canal": lambda term: {"right": {"before": {"canal": [term]}}},
    "contents": lambda term: {"right": {"before": {"contents": [term]}}},
    "symptom": lambda term: {"right": {"symptoms": [term]}},
    "impression": lambda term: {"right": {"impressions": [term]}},
    "past-event": lambda term: {"right": {"history": [term]}},
    "method": lambda term: {"right": {"work": [{"method": term["term"]}]}},
    "product": lambda term: {"softeners": [{"name": term["term"]}]},
}


def meanings(term: Term, kind: str = "drum") -> list[str]:
    came = {"number": "V1", "start": "2026-05-03", "client": {"legal_name": {"family": "Rowe"}}}
    visit = Visit.model_validate({**came, **FIELDS[kind]({"term": term})})
    ((_, after),) = terms_of(recognised(visit, MAPS))
    assert after.codings[: len(term.codings)] == term.codings
    assert after.text == term.text
    return [c.code for c in after.codings if c.system == OWN]


@pytest.mark.parametrize(
    ("text", "codings", "assertion", "said"),
    [
        ("Loch im Trommelfell", (PERFORATION,), "present", ["drum-perforation"]),
        ("attic perforation", (PERFORATION,), "present", ["drum-perforation-attic"]),
        ("perforation", (), "present", ["drum-perforation"]),
        ("perforation", (Coding(system="http://example.org", code="60442001"),), "present", ["drum-perforation"]),
        ("gap", (Coding(system="http://example.org", code="60442001"),), "present", []),
        ("dull", (PERFORATION,), "present", []),
        ("no perforation", (PERFORATION,), "present", []),
        ("no perforation", (PERFORATION,), "absent", ["drum-perforation"]),
        ("perforation", (PERFORATION,), "absent", ["drum-perforation"]),
        ("?perforation", (PERFORATION,), "present", []),
    ],
)
def test_meaning(text: str, codings: tuple[Coding, ...], assertion: str, said: list[str]) -> None:
    assert meanings(Term.model_validate({"text": text, "codings": codings, "assertion": assertion})) == said


def test_normal_means_nothing_outside_of_its_own_field() -> None:
    came = {"number": "V1", "start": "2026-05-03", "client": {"legal_name": {"family": "Rowe"}}}
    normal = {"text": "in Ordnung", "codings": [{"system": SCT, "code": "17621005"}], "assertion": "present"}
    visit = Visit.model_validate(
        {**came, "right": {"before": {"drum": [{"term": normal}]}, "impressions": [{"term": normal}]}}
    )
    found = {path: [c.code for c in term.codings[1:]] for path, term in terms_of(recognised(visit, MAPS))}
    assert found == {"right.before.drum.findings[0].term": ["drum-normal"], "right.impressions[0].term": []}


WORDED = ["symptom", "contents", "canal", "drum", "impression", "method", "product", "past-event"]


@pytest.mark.parametrize("kind", WORDED)
@pytest.mark.parametrize("words", [True, False])
def test_what_we_coded_is_recognised_again(kind: str, words: bool) -> None:
    """Without our own code each meaning comes back from its words; without the words none but one of the same code."""
    for concept in (c for c in MAPS.concepts.values() if c.kind == kind and c.codes):
        text = concept.words[0] if words else "words of nobody here"
        got = meanings(Term(text=text, codings=concept.codings[:-1], assertion="present"), kind)
        if words:
            assert got == [concept.code], concept.code
        elif got:
            assert MAPS.concepts[got[0]].codes == concept.codes, concept.code
