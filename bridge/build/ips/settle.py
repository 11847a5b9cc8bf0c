"""What a later visit says of what an earlier one told: the newest answer wins, the earlier stays told with its date.

A problem that a later visit calls cleared, past or absent is no present one any more; how sure it was stays as it was.
A medicine that a later list does not name is of unknown state, for nobody recorded that it was stopped. A plan is done
with when a later visit makes another. A caution that a later visit denies stands as an alert no more, and a hearing
aid gives way to what a later visit says of one in that ear. An older consent to share is told in words only: one is in
force.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from bridge.build.context import Json, one
from bridge.build.ips.gather import Told, point_to
from bridge.build.ips.headings import code_of
from bridge.build.ips.same import IMPRESSIONS
from bridge.fhir.elements import concept
from bridge.fhir.ids import reference
from bridge.visit import Visit
from bridge.wording import say


def settle(told: Sequence[Told], visits: Sequence[Visit]) -> None:
    """Changes what is told so that each fact stands as the newest visit that speaks of it says; visits oldest first."""
    order = {visit.number: place for place, visit in enumerate(visits)}
    _problems(told, order)
    _medicines(told, visits, order)
    _plans(told)
    _cautions(told, visits, order)
    _hearing_aids(told, visits, order)
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
    return this.built.ear == other.built.ear and _alike(this.built.resource["code"], other.built.resource["code"])


def _alike(this: Json, other: Json) -> bool:
    mine, theirs = _codes(this), _codes(other)
    return bool(mine & theirs) if mine or theirs else _words(this) == _words(other)


def _codes(code: Json) -> set[tuple[str, str]]:
    return {(c["system"], c["code"]) for c in code.get("coding", ())}


def _words(code: Json) -> str:
    return " ".join(str(code.get("text", "")).casefold().split())


def _medicines(told: Sequence[Told], visits: Sequence[Visit], order: dict[str, int]) -> None:
    lists = [v for v in visits if v.medicines and v.medicines.answer != "not asked"]
    for one_told in told:
        resource = one_told.built.resource
        if one_told.built.topic != "medicine" or resource["status"] != "active":
            continue
        if lists and order[lists[-1].number] > _last(one_told, order):
            resource["status"] = "unknown"
            resource["note"] = [*resource.get("note", ()), {"text": say("record.off-the-list")}]


def _plans(told: Sequence[Told]) -> None:
    plans = [t.built.resource for t in told if t.built.resource["resourceType"] == "CarePlan"]
    for earlier, later in pairwise(plans):
        earlier["status"] = "completed"
        later["replaces"] = [reference(earlier["id"])]


def _cautions(told: Sequence[Told], visits: Sequence[Visit], order: dict[str, int]) -> None:
    for flag in (t for t in told if t.built.resource["resourceType"] == "Flag"):
        said = flag.built.resource["code"]
        later = [c for v in visits[_last(flag, order) + 1 :] for c in v.cautions if c.term.assertion == "absent"]
        if any(c.ear == flag.built.ear and _alike(concept(c.term), said) for c in later):
            flag.built.resource["status"] = "inactive"


def _hearing_aids(told: Sequence[Told], visits: Sequence[Visit], order: dict[str, int]) -> None:
    for use in (t for t in told if t.built.topic == "hearing-aid" and t.built.resource["status"] == "active"):
        ear = use.built.ear
        records = [r for v in visits[_last(use, order) + 1 :] if ear and (r := v.ear(ear))]
        aids = [r.hearing_aid for r in records if r.hearing_aid]
        if any(not aid.style or aid.style.assertion != "suspected" for aid in aids):
            use.built.resource["status"] = "completed"


def _sharing(told: Sequence[Told]) -> None:
    consents = [t for t in told if t.built.topic == "consent-sharing"]
    for older in consents[:-1]:
        older.entry = False
    point_to(told, {older.built.id: "" for older in consents[:-1]})


def _last(told: Told, order: dict[str, int]) -> int:
    return max(order[visit.number] for visit in told.visits)
