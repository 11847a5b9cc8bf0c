"""Allergies, medicines, drops, cautions and earlier events come back as they went out."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings

from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests.care_visits import document, visit, visits


def there_and_back(of: Visit) -> Visit:
    found, issues = bundle_to_visits(document(of))
    assert issues == []
    return found[0]


@given(visits)
@settings(max_examples=200, deadline=None)
def test_every_field_comes_back(before: Visit) -> None:
    assert there_and_back(before) == before


@pytest.mark.parametrize("answer", ["none known", "not asked"])
def test_answers_about_allergies_stay_apart(answer: str) -> None:
    found = there_and_back(visit(allergies=answer)).allergies
    assert found is not None
    assert found.answer == answer


@pytest.mark.parametrize("answer", ["none", "not asked"])
def test_answers_about_medicines_stay_apart_beside_products(answer: str) -> None:
    work = {"method": "microsuction", "products": [{"name": "olive oil", "when": "supplied"}]}
    before = visit(medicines=answer, softeners=["olive oil"], right={"work": [work]})
    found = there_and_back(before)
    assert found.medicines is not None
    assert found.medicines.answer == answer
    assert found == before


def test_not_recorded_is_no_answer() -> None:
    found = there_and_back(visit(note="came for wax"))
    assert (found.allergies, found.medicines, found.softeners, found.cautions) == (None, None, (), ())


def test_order_holds_across_types_of_resource() -> None:
    surgery = {"text": "mastoidectomy", "assertion": "past"}
    coded = {**surgery, "codings": [{"system": "http://snomed.info/sct", "code": "50445001"}]}
    history: list[Any] = [
        {"term": {"text": "infection", "assertion": "past"}},
        {"term": coded},
        {"term": {"text": "perforation", "assertion": "absent"}},
        {"term": coded, "date": "1999"},
    ]
    cautions: list[Any] = [
        {"term": {"text": "epilepsy", "assertion": "suspected"}},
        {"term": {"text": "diabetes", "assertion": "present"}},
        {"term": {"text": "?more", "assertion": None}},
        {"term": {"text": "pacemaker", "assertion": "past"}},
    ]
    clinic = {"method": "microsuction", "products": [{"name": n, "when": w} for n, w in PRODUCTS]}
    before = visit(cautions=cautions, left={"history": history, "work": [clinic, clinic]})
    assert there_and_back(before) == before


PRODUCTS = (("oil", "supplied"), ("water", "used in clinic"), ("drops", "advised"), ("saline", "used in clinic"))


@pytest.mark.parametrize(
    ("kind", "term"),
    [
        ("cautions", {"text": "nil", "assertion": "present", "codings": ["caution-none"]}),
        ("softeners", {"text": "nil", "codings": ["product-none"]}),
        ("history", {"text": "nil", "assertion": "past", "codings": ["past-none"]}),
    ],
)
def test_words_for_nothing_come_back(kind: str, term: dict[str, Any]) -> None:
    from tests.care_visits import OWN

    term = {**term, "codings": [{"system": OWN, "code": c} for c in term["codings"]]}
    before = {
        "cautions": visit(cautions=[{"term": term, "ear": "left"}]),
        "softeners": visit(softeners=[{"name": term}]),
        "history": visit(right={"history": [{"term": term, "date": "2001", "ended": "2002"}]}),
    }[kind]
    assert there_and_back(before) == before
