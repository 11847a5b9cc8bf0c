"""Visits of a bundle of another system: a frame for each encounter, and the facts that surely belong to it."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import EARS
from bridge.receive.foreign.background import read_allergy, read_medicine
from bridge.receive.foreign.clients import encounter_of
from bridge.receive.foreign.conditions import read_condition, read_flag
from bridge.receive.foreign.encounters import frame, refusal
from bridge.receive.foreign.facts import Case, Fact, Reader
from bridge.receive.foreign.moments import within
from bridge.receive.foreign.nodes import Taking, root, valid
from bridge.receive.foreign.observations import read_observation
from bridge.receive.foreign.plans import read_advice, read_referral
from bridge.receive.foreign.procedures import read_procedure, worked
from bridge.receive.foreign.sources import Source
from bridge.shapes import Json
from bridge.visit import EarRecord, Visit

READERS: dict[str, Reader] = {
    "Condition": read_condition,
    "Flag": read_flag,
    "Procedure": read_procedure,
    "Observation": read_observation,
    "AllergyIntolerance": read_allergy,
    "MedicationStatement": read_medicine,
    "MedicationRequest": read_medicine,
    "Communication": read_advice,
    "ServiceRequest": read_referral,
}
_DATED = {"Observation": "effective", "Procedure": "performed"}
_STANDING = ("AllergyIntolerance", "MedicationStatement", "MedicationRequest", "Flag", "Condition")


def visit_of(case: Case, patient: Source, mine: list[Source]) -> Visit | None:
    """The visit of one encounter, from the resources of its client; what it holds is claimed. None with an X151."""
    encounter = case.encounter
    refused = refusal(encounter, root(patient))
    if refused:
        case.ask("X151", encounter, f"No visit is made of this Encounter: it {refused}.")
        return None
    base = Taking()
    fields = frame(encounter, root(patient), case, base)
    if fields is None:
        case.ask("X151", encounter, "No visit is made of this Encounter: its client has no name that can be read.")
        return None
    belonging = [source for source in mine if _belongs(source, case)]
    for source in belonging:
        if source.type == "Procedure":
            for ear in worked(root(source), case):
                case.works.setdefault(ear, []).append(root(source))
    facts = [fact for source in belonging for fact in _facts(source, case)]
    visit = valid(Visit, fields)
    if not isinstance(visit, Visit):
        case.ask("X151", encounter, "No visit is made of this Encounter: it says what no visit can hold.")
        return None
    base.mean(encounter.at("subject"), "reference", "type")
    base.mean(encounter.at("serviceProvider"), "reference", "type")
    base.keep(visit.number)
    return _filled(visit, fields, facts)


def _facts(source: Source, case: Case) -> list[Fact]:
    node = root(source)
    found = READERS[source.type](node, case)
    for fact in found:
        for key in ("subject", "patient", "encounter", "context"):
            fact.take.mean(node.at(key), "reference", "type")
    return found


def _belongs(source: Source, case: Case) -> bool:
    """Whether a resource, of those that name this encounter or none, may be read as a part of it.

    One that names none must be of its day, or of what lasts, in a document about nothing else.
    """
    if source.type not in READERS or not source.readable or source.number in case.addresses.twice:
        return False
    if encounter_of(source, case.addresses) != "none":
        return True
    element = _DATED.get(source.type)
    return within(root(source), element, case.encounter) in ("in", "before") if element else source.type in _STANDING


def _filled(visit: Visit, fields: Json, facts: list[Fact]) -> Visit:
    """The visit with every fact that it can hold. A group that is refused as a whole is left out, claims and all."""
    for ear in EARS:
        own = [fact for fact in facts if fact.ear == ear]
        record, used = _ear(own)
        made = valid(EarRecord, record) if record else None
        if made is not None and (whole := _with(fields, ear, made)):
            visit = whole
            fields[ear] = made
            for fact in used:
                fact.take.keep(visit.number)
    for name, value, used in _lists(facts):
        if whole := _with(fields, name, value):
            visit = whole
            fields[name] = value
            for fact in used:
                fact.take.keep(visit.number)
    return visit


def _with(fields: Json, name: str, value: Any) -> Visit | None:
    made = valid(Visit, {**fields, name: value})
    return made if isinstance(made, Visit) else None


def _lists(facts: list[Fact]) -> list[tuple[str, Any, list[Fact]]]:
    """The fields of the visit that belong to no ear."""
    found: list[tuple[str, Any, list[Fact]]] = []
    cautions = [fact for fact in facts if fact.field == "cautions"]
    if cautions:
        found.append(("cautions", tuple(fact.value for fact in cautions), cautions))
    advice = [fact for fact in facts if fact.field == "advice"]
    if advice:
        found.append(("advice", tuple(fact.value for fact in advice), advice))
    referrals = [fact for fact in facts if fact.field == "referral"]
    if len(referrals) == 1:  # a visit has room for one; of two nobody here can say which matters more
        found.append(("referral", referrals[0].value, referrals))
    medicines = [fact for fact in facts if fact.field == "medicines"]
    if medicines:
        found.append(("medicines", {"items": tuple(fact.value for fact in medicines)}, medicines))
    allergies = [fact for fact in facts if fact.field == "allergies"]
    none = [fact for fact in facts if fact.field == "no allergy"]
    if allergies:
        found.append(("allergies", {"items": tuple(fact.value for fact in allergies)}, allergies))
    elif none:
        found.append(("allergies", {"answer": "none known"}, none))
    return found


def _ear(facts: list[Fact]) -> tuple[Json, list[Fact]]:
    """The record of one ear as plain fields, and the facts that stand in it."""
    record: Json = {}
    used = []
    for fact in _agreeing(facts):
        if fact.stage is None:
            place, name = record, fact.field
        elif fact.field == "hearing.thresholds":
            place, name = record.setdefault(f"hearing_{fact.stage}", {}), "thresholds"
        else:
            part, _, name = fact.field.partition(".")
            place = record.setdefault(fact.stage, {}).setdefault(part, {})
        if _put(place, name, fact.value):
            used.append(fact)
    for stage in ("before", "after"):
        for part in [p for p, told_of in record.get(stage, {}).items() if not told_of]:
            del record[stage][part]
    return record, used


def _agreeing(facts: list[Fact]) -> list[Fact]:
    """Without the answers and amounts of which two differ: nobody here knows which one holds."""
    told: dict[tuple[str, str | None], list[Any]] = {}
    for fact in facts:
        if fact.field.endswith((".answer", ".amount")):
            told.setdefault((fact.field, fact.stage), []).append(fact.value)
    at_odds = {key for key, values in told.items() if any(value != values[0] for value in values)}
    return [fact for fact in facts if (fact.field, fact.stage) not in at_odds]


def _put(place: Json, name: str, value: Any) -> bool:
    """Whether there was room: a list takes all, a note grows, of an answer or an amount there is one only."""
    if name in ("findings", "symptoms", "history", "work", "impressions", "thresholds"):
        place[name] = (*place.get(name, ()), value)
    elif name == "note":
        joined = f"{place[name]}\n{value}" if name in place else value
        if len(joined) > 20_000:
            return False
        place[name] = joined
    elif name in place:
        return bool(place[name] == value)
    else:
        place[name] = value
    return True
