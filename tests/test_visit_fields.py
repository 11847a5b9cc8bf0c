"""`mappings/visit-fields.csv` against the model and what is built: nothing is unlisted, nothing stands elsewhere.

A value is changed in generated visits, one field at a time. What changes in the bundle must be what the row says,
of the same ear, and what the tables below say for a reason.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from pydantic import ValidationError

from bridge.build import build_document
from bridge.data import load_csv, table_path
from bridge.fhir.own import own_code
from bridge.fhir.tell import ear
from bridge.visit import Visit
from tests import generate
from tests.fields import changed, pattern, patterns, recorded

Json = dict[str, Any]
NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
ROWS = {row["field"]: row for row in load_csv(table_path("visit-fields.csv"))}
TRIES = 2
"""Changes made of each field, in different visits."""

EVERYWHERE = {
    "number", "start", "practitioners[].key", "client.number", "client.legal_name.family", "client.legal_name.given[]",
    "client.birth_date",
}  # fmt: skip
"""Ids, references and dates of many resources are made of them (a client without a number is known by name and birth
date)."""

ALSO = {
    "version": ["Composition", "Provenance"],  # the letter's status; the Provenance is one of this version
    "recorded_at": [
        "AllergyIntolerance", "Composition", "Condition", "DeviceUseStatement", "MedicationStatement", "ServiceRequest",
        "Task",
    ],
    # what was seen or told after the work is dated by it
    "end": ["Condition", "MedicationAdministration", "Observation", "Procedure"],
    "family_doctor.key": ["Patient", "ServiceRequest", "Task"],  # references: its entry is known by the key
    "family_doctor.practice": ["Patient", "ServiceRequest", "Task"],  # or by its name
    "clinic.phone": ["PractitionerRole"],  # where somebody in that role is reached
    "family_doctor.answer": ["Composition"],  # the heading of the practice says why there is none
    "family_doctor.note": ["Composition"],
    "referral.recipient.key": ["ServiceRequest[referral]"],  # the reference, likewise
    "referral.recipient.name": ["ServiceRequest[referral]"],
    # a guardian is known by name, and found in the words of a consent and of advice
    "client.guardians[].name.family": ["Communication", "Consent[treatment]", "Encounter"],
    "client.guardians[].name.given[]": ["Communication", "Consent[treatment]", "Encounter"],
    "client.guardians[].name.prefix": ["Consent[treatment]", "Encounter"],
    "client.guardians[].relationship": ["Communication", "Consent[treatment]", "Encounter"],
    "consent.given_by": ["Consent[treatment]"],  # its performer, where the words name just one
    "cautions[].term": ["Observation[caution-note]"],  # of a Flag, which has no note
    "cautions[].ear": ["Observation[caution-note]"],
    "sharing.status": ["Observation[sharing-reason]"],  # the reason stands in the section where nobody asked
    "{ear}.hearing_aid.style": ["DeviceUseStatement"],  # the display of the reference
    "{ear}.hearing_aid.uses": ["Device"],  # no Device where the record only says that none is used
    "{ear}.hearing_before.thresholds[].conduction": ["Observation[audiogram-air]", "Observation[audiogram-bone]"],
    "{ear}.hearing_after.thresholds[].conduction": ["Observation[audiogram-air]", "Observation[audiogram-bone]"],
    "{ear}.{stage}.drum.answer": ["Observation[drum-view]"],  # not seen is also how much of it could be seen
    "{ear}.{stage}.drum.reason": ["Observation[drum-view]"],
    "{ear}.work[].instruments[].name": ["Procedure[work]"],  # usedCode
    "{ear}.work[].events[].term": ["Procedure[work]"],  # complication
    "{ear}.work[].practitioner": ["MedicationAdministration"],  # who gave what was used
}  # fmt: skip
"""What else is made of a field."""

ONE_VALUE = {"{ear}.{stage}.view.answer"}
"""There is nothing to change it to; that it stands where the row says is tested all the same."""


def test_every_field_has_one_row_and_every_row_a_field() -> None:
    listed = Counter(row["field"] for row in load_csv(table_path("visit-fields.csv")))
    assert [field for field, times in listed.items() if times > 1] == []
    assert set(listed) == set(patterns())


def test_every_field_is_carried() -> None:
    assert {row["status"] for row in ROWS.values()} == {"carried"}


def alternatives(r4: str) -> list[tuple[str, str]]:
    """Resource and path of each reading of a row: `A|B[k].x`, `A.x|B[k].y`, `A.x|y`."""
    found: list[tuple[str, str]] = []
    heads: list[str] = []
    for piece in r4.split("|"):
        head, _, rest = piece.partition(".")
        if piece[0].isupper() and rest:
            found += [(h, rest) for h in (*heads, head)]
            heads = []
        elif piece[0].isupper():
            heads.append(head)
        else:
            last, path = found[-1]
            found.append((last, ".".join([*path.split(".")[:-1], piece])))
    assert not heads, r4
    return found


@pytest.mark.parametrize(
    ("r4", "expected"),
    [
        ("Media.view.text", [("Media", "view.text")]),
        ("A|B[k].x.y", [("A", "x.y"), ("B[k]", "x.y")]),
        ("A[i].x|B[k].y.z", [("A[i]", "x"), ("B[k]", "y.z")]),
        ("A[i].x.y|z", [("A[i]", "x.y"), ("A[i]", "x.z")]),
    ],
)
def test_rows_are_read_right(r4: str, expected: list[tuple[str, str]]) -> None:
    assert alternatives(r4) == expected


def is_kind(resource: Json, head: str, bundle: Json) -> bool:
    """Whether a resource is what `Type[kind]` names."""
    type, _, kind = head.rstrip("]").partition("[")
    if resource["resourceType"] != type:
        return False
    if type == "Observation":
        return not kind or own_code(resource["code"]) == kind
    return not kind or _KINDS[kind](resource, bundle)


def _past(resource: Json) -> bool:
    category = resource.get("category", [])
    return any(
        (own_code(c) or "").startswith("event-from") for c in (category if isinstance(category, list) else [category])
    )


def _custodian(bundle: Json) -> str:
    return str(bundle["entry"][0]["resource"].get("custodian", {}).get("reference", ""))


def _receivers(bundle: Json) -> set[str]:
    orders = (e["resource"] for e in bundle["entry"] if e["resource"].get("intent") == "order")
    return {p["reference"] for order in orders for p in order.get("performer", ())}


def _doctors(bundle: Json) -> set[str]:
    patients = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient")
    return {str(d.get("reference")) for patient in patients for d in patient.get("generalPractitioner", ())}


_KINDS: dict[str, Callable[[Json, Json], bool]] = {
    "clinic": lambda r, b: _custodian(b) == f"urn:uuid:{r['id']}",
    "recipient": lambda r, b: f"urn:uuid:{r['id']}" in _receivers(b),
    "family-doctor": lambda r, b: f"urn:uuid:{r['id']}" not in {_custodian(b), *_receivers(b)},
    "treatment": lambda r, b: r["scope"]["coding"][0]["code"] == "treatment",
    "sharing": lambda r, b: r["scope"]["coding"][0]["code"] != "treatment",
    "work": lambda r, b: not _past(r),
    "impression": lambda r, b: not _past(r),
    "past-event": lambda r, b: _past(r),
    "request": lambda r, b: r["intent"] == "proposal",
    "referral": lambda r, b: r["intent"] == "order",
    "hearing-aid-device": lambda r, b: "patient" in r,
}


def values(node: Any, path: str) -> Iterator[Any]:
    """What stands at a path of a resource; `value` is any value[x], `component[kind]` one of our own kind."""
    if isinstance(node, list):
        for item in node:
            yield from values(item, path)
        return
    if not path:
        yield node
        return
    step, _, rest = path.partition(".")
    if not isinstance(node, dict):
        return
    name, _, kind = step.rstrip("]").partition("[")
    for key, inner in node.items():
        if key == name or (name == "value" and key.startswith("value")):
            chosen = [i for i in inner if own_code(i["code"]) == kind] if kind else inner
            yield from values(chosen, rest)


def at(bundle: Json, r4: str) -> list[Any]:
    """Everything in the bundle that a row names."""
    found: list[Any] = []
    for head, path in alternatives(r4):
        if head == "Bundle":
            found += values(bundle, path)
        for entry in bundle["entry"]:
            if is_kind(entry["resource"], head, bundle):
                found += values(entry["resource"], path)
    return found


def bare(bundle: Json) -> dict[str, Json]:
    """Resources by type and id, without what is made of others.

    That is: words (`text`), lists of whatever is there (a section's entries, what a Provenance is about, what is known
    of the ear of a referral), and the evidence of a Condition, which is found by equal codes.
    """
    found = {}
    for resource in (e["resource"] for e in bundle["entry"]):
        alone = {k: v for k, v in resource.items() if k not in ("text", "evidence", "target", "supportingInfo")}
        if resource["resourceType"] == "Composition":
            alone["section"] = [_section(s) for s in resource["section"] if "emptyReason" in s]
        found[f"{resource['resourceType']}/{resource['id']}"] = alone
    return found


def _section(section: Json) -> Json:
    return {k: v for k, v in section.items() if k not in ("text", "entry")}


@cache
def outcomes() -> dict[str, list[str]]:
    """Faults of each field over as many changes as were tried; a field that was never tried is missing."""
    found: dict[str, list[str]] = {}
    tried: Counter[str] = Counter()
    for seed in range(1500):
        visit = generate.visit(random.Random(seed), fill=(0.5, 0.75, 0.95)[seed % 3])
        wanted = [(path, of) for path, of in recorded(visit) if tried[pattern(path)] < TRIES]
        before = build_document(visit, NAMESPACE, ZONE) if wanted else {}
        fields = visit.model_dump()
        for path, of in wanted:
            row = pattern(path)
            other = next(_valid(fields, path, of, visit), None)
            if tried[row] == TRIES or (other is None and row not in ONE_VALUE):
                continue
            tried[row] += 1
            after = build_document(other, NAMESPACE, ZONE) if other else None
            found.setdefault(row, []).extend(f"seed {seed}, {path}: {f}" for f in faults(path, before, after))
    return found


def _valid(fields: Json, path: str, of: Any, visit: Visit) -> Iterator[Visit]:
    for candidate in changed(fields, path, of):
        try:
            made = Visit.model_validate(candidate)
        except ValidationError:
            continue
        if made != visit:
            yield made


def faults(path: str, before: Json, after: Json | None) -> Iterator[str]:
    row = ROWS[pattern(path)]
    if not at(before, row["r4"]):
        yield f"nothing at {row['r4']}"
    if after is None:
        return
    if at(before, row["r4"]) == at(after, row["r4"]):
        yield f"no change at {row['r4']}"
    if row["field"] in EVERYWHERE:
        return
    heads = [head for head, _ in alternatives(row["r4"])] + list(ALSO.get(row["field"], ()))
    old, new = bare(before), bare(after)
    for name in [n for n in {**old, **new} if old.get(n) != new.get(n)]:
        for resource, bundle in ((old.get(name), before), (new.get(name), after)):
            if resource is None:
                continue
            if not any(is_kind(resource, head, bundle) for head in heads):
                yield f"changes {resource['resourceType']} {own_code(resource.get('code')) or ''}"
            side = path.split(".")[0]
            if side in ("right", "left") and ear(resource) not in (side, None):
                yield f"changes {resource['resourceType']} of the other ear"


def test_every_field_was_tried() -> None:
    assert set(ROWS) - set(outcomes()) == set()


@pytest.mark.parametrize("field", list(ROWS))
def test_a_change_shows_where_the_row_says_and_nowhere_else(field: str) -> None:
    assert outcomes().get(field, []) == []


def test_a_change_elsewhere_is_noticed() -> None:
    def built(right: str, left: str) -> Json:
        client = {"number": "C7", "legal_name": {"family": "Ash"}}
        ears = {"right": {"note": right}, "left": {"note": left}}
        visit = Visit.model_validate({"number": "V1", "client": client, "start": "2026-11-03", **ears})
        return build_document(visit, NAMESPACE, ZONE)

    assert list(faults("right.note", built("a", "b"), built("c", "b"))) == []
    assert set(faults("right.note", built("a", "b"), built("a", "c"))) == {"changes Observation of the other ear"}
    assert list(faults("right.hearing_change", built("a", "b"), built("a", "b"))) != []
