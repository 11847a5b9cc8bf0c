"""The account: which leaves of a bundle are in a visit, and which stay in the resources that are kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from bridge.issues import Issue, Where, issue
from bridge.receive.foreign.leaves import leaves
from bridge.receive.foreign.shapes import AccountLine, Foreign, State
from bridge.receive.foreign.sources import Source, around

_FILING = ("id", "meta.versionId", "meta.lastUpdated", "meta.source", "resourceType")
MOST_WORDS = 200


def account(data: Any, found: list[Source]) -> list[AccountLine]:
    """A line for what is around the resources, if anything is, and one for each resource."""
    outside = tuple(path for path, value in leaves(around(data)) if path and value is not None)
    lines = [AccountLine("Bundle", "Bundle", "of the parcel", elements=outside)] if outside else []
    return lines + [_line(source) for source in found]


def keep(foreign: Foreign, found: list[Source], visits: Mapping[int, tuple[int, ...]]) -> None:
    """Every resource of which a leaf is in no visit goes into `kept`. `visits`: those of its client, by its number."""
    left = {line.path for line in foreign.account if line.elements}
    for source in found:
        foreign.whose[source.path] = visits.get(source.number, ())
        if source.path in left:
            foreign.kept.append(source.resource)
            foreign.urls.append(source.url)
            foreign.kept_of.append(visits.get(source.number, ()))


def told(found: list[Source], foreign: Foreign, owners: Mapping[int, Source]) -> list[Issue]:
    """Which kinds of standing facts of each client are in no visit, so that a person reads them.

    `owners`: the client of each resource, by its number; without one it is told of the bundle.
    """
    states = {line.path: line.state for line in foreign.account}
    beside: dict[str, Counter[str]] = {}
    for source in found:
        if states[source.path] == "kept" and source.type in _STANDING:
            owner = owners.get(source.number)
            beside.setdefault(owner.path if owner else "Bundle", Counter())[source.type] += 1
    issues = []
    for path, counted in beside.items():
        whose = "of this client" if path != "Bundle" else "of whom it is not clear"
        for type, number in sorted(counted.items()):
            said = f"In no visit, {whose}: {number} of type {type} ({_STANDING[type]})."
            issues.append(issue("X159", said, Where(path=path)))
    return issues


_STANDING = {
    "AllergyIntolerance": "allergies and intolerances",
    "Appointment": "what is still to come",
    "CarePlan": "plans",
    "Condition": "problems and diagnoses",
    "Consent": "what was agreed with another clinic, which is no consent to yours",
    "Flag": "warnings",
    "MedicationRequest": "medicines",
    "MedicationStatement": "medicines",
    "ServiceRequest": "requests and referrals, some of which may be open",
    "Task": "what is still to be done",
}


def _line(source: Source) -> AccountLine:
    left = tuple(path for path, _ in leaves(source.resource) if path not in source.claimed)
    state: State = "kept"
    if source.claimed:
        state = "in part" if any(_of_substance(path, source) for path in left) else "in the visit"
    return AccountLine(source.path, source.type, state, source.visit, left, what(source))


def _of_substance(path: str, source: Source) -> bool:
    if path in _FILING or path in source.meant or path.startswith("meta.profile["):
        return False
    text = source.resource.get("text")
    made = isinstance(text, dict) and text.get("status") == "generated"
    return not (made and path.startswith("text."))


def what(source: Source) -> str:
    """The resource's own words for what it is about, cut where they are long, with the states that it is in.

    Without the states a refuted allergy would read as an allergy. Empty where it has no words.
    """
    resource = source.resource
    words = next((w for key in _NAMING if (w := _words(resource.get(key)))), "")
    contained = resource.get("contained")
    if not words and isinstance(contained, list) and len(contained) == 1 and isinstance(contained[0], dict):
        words = _words(contained[0].get("code"))
    if not words:
        return ""
    told = [_state(resource.get(key)) for key in ("clinicalStatus", "verificationStatus", "status", "intent")]
    told += ["not to be done"] if resource.get("doNotPerform") is True else []
    told += ["modified in a way that nobody here can read"] if source.modified else []
    states = ", ".join(state for state in told if state)
    return f"{words[:MOST_WORDS]} ({states})" if states else words[:MOST_WORDS]


_NAMING = ("code", "vaccineCode", "medicationCodeableConcept", "type", "title", "name", "description")


def _state(value: Any) -> str:
    if isinstance(value, dict):
        codings = value.get("coding")
        codes = [c.get("code") for c in codings if isinstance(c, dict)] if isinstance(codings, list) else []
        value = next((code for code in codes if isinstance(code, str)), value.get("text"))
    return value[:40] if isinstance(value, str) else ""


def _words(value: Any) -> str:
    if isinstance(value, list):
        value = value[0] if value else None
    if isinstance(value, str):
        return value
    if not isinstance(value, dict):
        return ""
    if isinstance(value.get("text"), str):
        return str(value["text"])
    codings = value.get("coding")
    shown = (c.get("display") for c in codings if isinstance(c, dict)) if isinstance(codings, list) else ()
    return next((s for s in shown if isinstance(s, str)), "")
