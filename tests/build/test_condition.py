"""When an impression is over, what it rests on, and what work was for."""

from __future__ import annotations

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.coding import code_visit, load_term_maps
from bridge.receive import bundle_to_visits
from bridge.visit import Visit

MAPS = load_term_maps()


def resources(kind: str, **right: Any) -> list[dict[str, Any]]:
    visit = Visit.model_validate(
        {"number": "V1", "client": {"legal_name": {"family": "Quill"}}, "start": "2026-05-03", "right": right}
    )
    bundle = build_document(code_visit(visit, MAPS)[0], UUID(int=3), ZoneInfo("Europe/London"))
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == kind]


def status(impression: str, outcome: str | None, after: Any = None) -> str:
    work = {"method": "microsuction", **({"outcome": outcome} if outcome else {})}
    more = {"after": {"wax": after}} if after else {}
    (condition,) = resources("Condition", impressions=[impression], work=[work], **more)
    return str(condition["clinicalStatus"]["coding"][0]["code"])


def test_cleared_wax_is_over() -> None:
    assert status("impacted wax", "complete") == "resolved"
    assert status("impacted wax", "complete", "none") == "resolved"


@pytest.mark.parametrize(
    "outcome", [None, "partial", "not cleared", "failed x2", "almost complete", "complete?", "gleeb"]
)
@pytest.mark.parametrize(
    "impression", ["impacted wax", "excess wax", "cholesteatoma", "otitis externa", "perforation", "hearing loss"]
)
def test_nothing_is_over_by_an_outcome_that_does_not_say_so(impression: str, outcome: str | None) -> None:
    assert status(impression, outcome) == "active"


THINGS = ["foreign body", "cotton wool", "cotton bud tip", "hearing aid dome", "bead", "loose grommet", "insect"]


def thing(impression: str, *outcomes: str, after: Any = None) -> str:
    work = [{"method": "instruments", "outcome": outcome} for outcome in outcomes]
    more = {"after": after} if after else {}
    (condition,) = resources("Condition", impressions=[impression], work=work, **more)
    state = str(condition["clinicalStatus"]["coding"][0]["code"])
    assert ("abatementDateTime" in condition) == (state == "resolved")
    return state


@pytest.mark.parametrize("impression", THINGS)
@pytest.mark.parametrize("after", [None, {"contents": "normal"}, {"contents": ["blood"]}, {"drum": "normal"},
                                   {"contents": ["no foreign body"]}])  # fmt: skip
def test_a_thing_that_was_taken_out_is_over(impression: str, after: Any) -> None:
    assert thing(impression, "complete", after=after) == "resolved"
    assert thing(impression, "complete", "complete", after=after) == "resolved"


@pytest.mark.parametrize("impression", THINGS)
@pytest.mark.parametrize(
    "after",
    [{"contents": ["foreign body"]}, {"contents": ["?bead"]}, {"contents": ["a shiny gleeb"]}, {"contents": "not seen"},
     {"canal": "not examined"}, {"view": "none"}, {"view": "not examined"}, {"canal": ["foreign body"]}],
)  # fmt: skip
def test_a_thing_that_may_be_there_after_is_not_over(impression: str, after: Any) -> None:
    assert thing(impression, "complete", after=after) == "active"


@pytest.mark.parametrize("impression", THINGS)
@pytest.mark.parametrize("outcomes", [[], ["partial"], ["stopped"], ["stopped", "complete"], ["complete", "partial"]])
def test_a_thing_is_not_over_by_work_that_did_not_all_end_well(impression: str, outcomes: list[str]) -> None:
    assert thing(impression, *outcomes) == "active"


@pytest.mark.parametrize("impression", ["?foreign body", "no foreign body", "previous foreign body"])
def test_only_a_thing_that_was_there_can_be_over(impression: str) -> None:
    assert thing(impression, "complete") != "resolved"


@pytest.mark.parametrize("impression", ["cholesteatoma", "otitis externa", "perforation", "hearing loss"])
def test_removal_ends_nothing_but_wax(impression: str) -> None:
    assert status(impression, "complete") == "active"


@pytest.mark.parametrize("after", ["impacted", {"percent": 40}, {"amount": "gleeb"}, "not seen"])
def test_wax_that_was_seen_after_is_not_over(after: Any) -> None:
    assert status("impacted wax", "complete", after) == "active"


@pytest.mark.parametrize("impression", ["?impacted wax", "no impacted wax", "old impacted wax", "?perf", "perforation"])
def test_work_is_not_done_for_what_was_doubted_or_found_under_the_wax(impression: str) -> None:
    work = {"method": "microsuction", "outcome": "complete"}
    (procedure,) = resources("Procedure", impressions=[impression], work=[work])
    assert "reasonReference" not in procedure


def test_work_is_done_for_the_wax() -> None:
    work = {"method": "microsuction", "outcome": "complete"}
    (procedure,) = resources("Procedure", impressions=["?perf", "impacted wax"], work=[work])
    conditions = resources("Condition", impressions=["?perf", "impacted wax"], work=[work])
    assert procedure["reasonReference"] == [{"reference": f"urn:uuid:{conditions[1]['id']}"}]


def test_a_doubt_rests_on_the_doubt_and_not_on_the_denial() -> None:
    looks = {"before": {"drum": ["no perforation"]}, "after": {"drum": ["?perf"]}}
    (condition,) = resources("Condition", impressions=["?perf"], **looks)
    observations = resources("Observation", impressions=["?perf"], **looks)
    said = "perforation suspected, not confirmed (noted as “?perf”)"
    doubted = [o["id"] for o in observations if o.get("valueCodeableConcept", {}).get("text") == said]
    assert condition["evidence"] == [{"detail": [{"reference": f"urn:uuid:{doubted[0]}"}]}]


def test_that_no_follow_up_is_needed_is_no_plan() -> None:
    visit = Visit.model_validate(
        {
            "number": "V1",
            "client": {"legal_name": {"family": "Quill"}},
            "start": "2026-05-03",
            "follow_up": {"plan": "none needed", "reason": "both clear"},
        }
    )
    bundle = build_document(visit, UUID(int=3), ZoneInfo("Europe/London"))
    assert not [e for e in bundle["entry"] if e["resource"]["resourceType"] == "CarePlan"]
    visits, issues = bundle_to_visits(bundle)
    assert issues == []
    assert visits[0].follow_up == visit.follow_up
