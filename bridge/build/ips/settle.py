"""What a later visit says of what an earlier one told: the newest answer wins, the earlier stays told with its date.

A problem that a later visit calls cleared, past or absent is no present one any more; how sure it was stays as it was.
A medicine that a later list does not name is of unknown state, for nobody recorded that it was stopped. A plan is done
with when a later visit makes another. An older consent to share is told in words only: one is in force.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from bridge.build.context import Json, one
from bridge.build.ips.gather import Told, point_to
from bridge.build.ips.headings import code_of
from bridge.build.ips.same import IMPRESSIONS
from bridge.fhir.ids import reference
from bridge.visit import Visit

OFF_THE_LIST = "Told earlier; a later visit asked for the medicines and does not name it."


def settle(told: Sequence[Told], visits: Sequence[Visit]) -> None:
    """Changes what is told so that each fact stands as the newest visit that speaks of it says; visits oldest first."""
    order = {visit.number: place for place, visit in enumerate(visits)}
    _problems(told, order)
    _medicines(told, visits, order)
    _plans(told)
    _sharing(told)


def _problems(told: Sequence[Told], order: dict[str, int]) -> None:
    conditions = [t for t in told if t.built.topic in IMPRESSIONS]
    over = [t for t in conditions if code_of(t.built.resource["clinicalStatus"]) != "active"]
    for earlier in conditions:
        if code_of(earlier.built.resource["clinicalStatus"]) != "active":
            continue
        later = [t for t in over if _last(t, order) > _last(earlier, order) and _same_problem(t, earlier)]
        if not later:
            continue
        end = min(later, key=lambda t: _last(t, order)).built.resource
        earlier.built.resource["clinicalStatus"] = one(f"condition-clinical:{code_of(end['clinicalStatus'])}")
        if "abatementDateTime" in end:
            earlier.built.resource["abatementDateTime"] = end["abatementDateTime"]


def _same_problem(this: Told, other: Told) -> bool:
    """The same ear, and a code of the code systems in common; where neither has a code, the same words."""
    mine, theirs = _codes(this.built.resource["code"]), _codes(other.built.resource["code"])
    alike = bool(mine & theirs) if mine or theirs else _words(this) == _words(other)
    return this.built.ear == other.built.ear and alike


def _codes(concept: Json) -> set[tuple[str, str]]:
    return {(c["system"], c["code"]) for c in concept.get("coding", ())}


def _words(told: Told) -> str:
    return " ".join(str(told.built.resource["code"].get("text", "")).casefold().split())


def _medicines(told: Sequence[Told], visits: Sequence[Visit], order: dict[str, int]) -> None:
    lists = [v for v in visits if v.medicines and v.medicines.answer != "not asked"]
    for one_told in told:
        resource = one_told.built.resource
        if one_told.built.topic != "medicine" or resource["status"] != "active":
            continue
        if lists and order[lists[-1].number] > _last(one_told, order):
            resource["status"] = "unknown"
            resource["note"] = [*resource.get("note", ()), {"text": OFF_THE_LIST}]


def _plans(told: Sequence[Told]) -> None:
    plans = [t.built.resource for t in told if t.built.resource["resourceType"] == "CarePlan"]
    for earlier, later in pairwise(plans):
        earlier["status"] = "completed"
        later["replaces"] = [reference(earlier["id"])]


def _sharing(told: Sequence[Told]) -> None:
    consents = [t for t in told if t.built.topic == "consent-sharing"]
    for older in consents[:-1]:
        older.entry = False
    point_to(told, {older.built.id: "" for older in consents[:-1]})


def _last(told: Told, order: dict[str, int]) -> int:
    return max(order[visit.number] for visit in told.visits)
