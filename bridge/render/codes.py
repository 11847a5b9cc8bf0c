"""The codes of what the letter names, for whoever enters it in a system: never in its sentences."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from bridge.data import load_csv, table_path
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import first_word, own_code, word
from bridge.fhir.systems import OWN, short_name
from bridge.fhir.systems import system as long_name
from bridge.fhir.tell import ear, subject
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.referral import is_referral
from bridge.fhir.tell.words import upper_first
from bridge.render.entries import Entries
from bridge.render.page import Block, Grid, Text
from bridge.shapes import Json
from bridge.wording import say

NOTHING = "-"
SYSTEM_NAMES = {"sct": "SNOMED CT", "loinc": "LOINC", "icd-10": "ICD-10", "icd-10-cm": "ICD-10-CM"}
_VERIFICATION = {"provisional": "suspected", "unconfirmed": "suspected", "differential": "suspected",
                 "refuted": "absent"}  # fmt: skip
_NAMES = {
    "Procedure": (("code", "method"), ("outcome", "outcome"), ("statusReason", "reason"), ("usedCode", "instrument")),
    "Encounter": (("reasonCode", "visit-reason"),),
    "Communication": (("topic", "advice"),),
    "AllergyIntolerance": (("code", "allergy"),),
    "Flag": (("code", "caution"),),
    "MedicationStatement": (("medicationCodeableConcept", "medicine"),),
    "MedicationAdministration": (("medicationCodeableConcept", "medicine"),),
    "Medication": (("code", "medicine"),),
    "ServiceRequest": (("code", "request"),),
}


class CodeRow(NamedTuple):
    fact: str
    ear: str
    system: str
    code: str
    display: str
    words: str


def codes(entries: Entries) -> Block:
    """The table, or that there is nothing to put in one."""
    rows = _together(code_rows(entries))
    if not rows:
        return Text(say("codes.none"))
    headings = [say(f"codes.heading.{heading}") for heading in CodeRow._fields]
    return Grid(headings, [list(row) for row in rows], say("codes.caption"))


def _together(rows: list[CodeRow]) -> list[CodeRow]:
    """One row for a code that both ears have, and for several words of one code."""
    found: dict[CodeRow, dict[str, list[str]]] = {}
    for row in rows:
        words = found.setdefault(row._replace(ear="", words=""), {}).setdefault(row.ear, [])
        words += [row.words] if row.words not in words else []
    right, left, both = (say(f"codes.ear.{side}") for side in ("right", "left", "both"))
    made = []
    for row, sides in found.items():
        if right in sides and left in sides:
            in_both = [word for word in sides[right] if word in sides[left]]
            told = [in_both, *([word for word in sides[side] if word not in in_both] for side in (right, left))]
            named = zip(("{}", f"{right}: {{}}", f"{left}: {{}}"), told, strict=True)
            told_of_both = "; ".join(form.format(", ".join(some)) for form, some in named if some)
            made.append(row._replace(ear=both, words=told_of_both))
            sides = {side: some for side, some in sides.items() if side not in (right, left)}
        made += [row._replace(ear=side, words="; ".join(some)) for side, some in sides.items()]
    return _facts_together(made)


def _facts_together(rows: list[CodeRow]) -> list[CodeRow]:
    """One row for several facts of one ear that have the same code; each keeps what it is marked with."""
    found: dict[CodeRow, list[CodeRow]] = {}
    for row in rows:
        found.setdefault(row._replace(fact="", words=""), []).append(row)
    return [
        some[0]._replace(
            fact="; ".join(row.fact for row in some), words="; ".join(dict.fromkeys(r.words for r in some))
        )
        for some in found.values()
    ]


def code_rows(entries: Entries) -> list[CodeRow]:
    """One row for each published code of a named thing, in the bundle's order.

    Codes of our own list are left to the machine-readable document: no other system could enter them.
    """
    rows: dict[CodeRow, None] = {}
    bare = _qualifiers()
    for resource in entries.resources:
        side = ear(resource)
        column = say(f"codes.ear.{side}") if side else NOTHING
        mark = ", ".join(m for m in (_ended(resource), not_in_force(resource)) if m)
        for named, concept in _named(resource):
            fact = say("codes.marked", fact=named, mark=mark) if mark else named
            for coding in concept.get("coding", ()):
                system, code = str(coding.get("system", "")), str(coding.get("code", ""))
                if code and system != OWN and (system, code) not in bare:
                    known, shown = (
                        SYSTEM_NAMES.get(short_name(system) or "", system),
                        str(coding.get("display") or NOTHING),
                    )
                    rows[CodeRow(fact, column, known, code, shown, str(concept.get("text") or NOTHING))] = None
    return list(rows)


@cache
def _qualifiers() -> frozenset[tuple[str, str]]:
    """Codes that name nothing by themselves (absent, complete, not performed), by mappings/codes."""
    rows = (row for path in sorted(table_path("codes").glob("*.csv")) for row in load_csv(path))
    return frozenset((long_name(r["system"]), r["code"]) for r in rows if r.get("tag") == "qualifier value")


def _ended(resource: Json) -> str:
    """What keeps a code from being entered as something done or standing; what the name says already is left out."""
    type, status = resource["resourceType"], str(resource.get("status", ""))
    clinical = {str(c.get("code")) for c in resource.get("clinicalStatus", {}).get("coding", ())}
    verified = {str(c.get("code")) for c in resource.get("verificationStatus", {}).get("coding", ())}
    if is_past_event(resource) or (type == "Condition" and verified & _VERIFICATION.keys()):
        return ""
    if type == "AllergyIntolerance" and "refuted" in verified:
        return say("codes.absent")
    if type in ("Condition", "AllergyIntolerance"):
        return say("codes.resolved") if "resolved" in clinical else say("codes.past") if "inactive" in clinical else ""
    if type == "Flag":
        past = first_word("assertion", resource.get("category", ())) == "past" or status == "inactive"
        return say("codes.past") if past else ""
    return say(f"codes.{status}") if type in _DONE and status in _ENDED else ""


_DONE = ("Procedure", "MedicationStatement", "MedicationAdministration", "Communication")
_ENDED = ("not-done", "stopped", "not-taken", "on-hold")


def _named(resource: Json) -> Iterator[tuple[str, Json]]:
    """Each concept that names something, under what it is in the letter."""
    type = resource["resourceType"]
    if type == "Observation":
        yield from _of_observation(resource)
    elif is_past_event(resource):
        yield say("codes.past-event"), resource.get("code", {})
    elif type == "Condition":
        verification = next((c.get("code") for c in resource.get("verificationStatus", {}).get("coding", ())), "")
        doubt = _VERIFICATION.get(str(verification))
        named = say("codes.impression")
        named = say("codes.marked", fact=named, mark=say(f"codes.{doubt}")) if doubt else named
        yield named, resource.get("code", {})
    names = (("code", "referral"),) if type == "ServiceRequest" and is_referral(resource) else _NAMES.get(type, ())
    for field, fact in () if is_past_event(resource) else names:
        value = resource.get(field, [])
        yield from ((say(f"codes.{fact}"), concept) for concept in (value if isinstance(value, list) else [value]))
    for inner in resource.get("contained", ()):
        yield from _named(inner)


def _of_observation(observation: Json) -> Iterator[tuple[str, Json]]:
    """The value, where it names something: answers (normal, partly seen, suspected) only say how it was seen."""
    value = observation.get("valueCodeableConcept", {})
    if not any(word(group, value) for group in ("assertion", "answer", "view", "drum-view")):
        yield upper_first(subject(observation)) or say("ears.note"), value
    for component in observation.get("component", ()):
        if own_code(component.get("code")) == "finding-in-question":
            doubt = say(f"codes.{word('assertion', value) or 'unread'}")
            named = say("codes.marked", fact=upper_first(subject(observation)), mark=doubt)
            yield named, component.get("valueCodeableConcept", {})
