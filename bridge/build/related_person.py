"""RelatedPerson: those who speak for the client, and where else a visit names them.

Parental responsibility has no element in R4; it is one more relationship, by a code of our own, for it says what the
person is to the client. Who of several gave a consent is never guessed.
"""

from __future__ import annotations

from collections import Counter

from bridge.build.context import Context, Json, one
from bridge.fhir.elements import human_name, telecom
from bridge.fhir.ids import client_key, reference
from bridge.fhir.own import coding, fixed
from bridge.fhir.relationships import CLIENT, meant, plain_name, relation, relation_codes
from bridge.fhir.tell.words import name as spelt_name
from bridge.visit.people import Guardian


def build_related_persons(context: Context) -> None:
    for guardian, id in zip(context.visit.client.guardians, guardian_ids(context), strict=True):
        context.add(
            "related-person",
            {
                "resourceType": "RelatedPerson",
                "id": id,
                "identifier": [context.local_identifier("related-person", id)],
                "patient": context.patient,
                "relationship": _relationship(guardian),
                "name": [human_name(guardian.name, "official")],
                **({"telecom": telecom((guardian.phone,))} if guardian.phone else {}),
            },
        )


def guardian_ids(context: Context) -> list[str]:
    """By client and name, so that they stay the same from visit to visit; two of one name are counted."""
    client, met, found = context.visit.client, Counter[str](), []
    for guardian in client.guardians:
        name = plain_name(guardian.name)
        met[name] += 1
        found.append(context.ids.of("RelatedPerson", *client_key(client), name, met[name]))
    return found


def _relationship(guardian: Guardian) -> list[Json]:
    codings = [coding(code) for code in relation_codes(guardian.relationship)]
    found: list[Json] = [{**({"coding": codings} if codings else {}), "text": guardian.relationship}]
    if guardian.parental_responsibility is not None:
        word = "parental responsibility" if guardian.parental_responsibility else "no parental responsibility"
        found.append(fixed("guardian", word))
    return found


def escorts(context: Context) -> list[Json]:
    """Encounter participants: those who came along."""
    guardians, escort = context.visit.client.guardians, [one("v3-ParticipationType:ESC")]
    came = [number for number, guardian in enumerate(guardians) if guardian.accompanied]
    return [{"type": escort, "individual": _named(context, number)} for number in came]


def consenting(context: Context) -> list[Json]:
    """Who gave the consent, where the record says so and its words name the client or just one other."""
    consent = context.visit.consent
    if consent is None or consent.given_by is None:
        return []
    if relation(consent.given_by) == CLIENT:
        return [{**context.patient, "display": consent.given_by}]
    found = meant(context.visit.client.guardians, consent.given_by)
    return [_named(context, found[0])] if len(found) == 1 else []


def receivers(context: Context, told: str | None) -> list[Json]:
    """Who was told something: the client unless the record names another, whose own words always stand beside."""
    if told is None:
        return [context.patient]
    if relation(told) == CLIENT:
        return [{**context.patient, "display": told}]
    found = meant(context.visit.client.guardians, told)
    return [{**(reference(guardian_ids(context)[found[0]]) if len(found) == 1 else {}), "display": told}]


def _named(context: Context, number: int) -> Json:
    """A reference to one of those who speak for the client, with name and relationship to read."""
    guardian = context.visit.client.guardians[number]
    said = f"{spelt_name([human_name(guardian.name, 'official')])} ({guardian.relationship})"
    return {**reference(guardian_ids(context)[number]), "display": said}
