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
from bridge.fhir.relationships import CLIENT, relation, relation_codes
from bridge.visit.people import Guardian, Name


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
        name = _plain(guardian.name)
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
    pairs = zip(context.visit.client.guardians, guardian_ids(context), strict=True)
    escort = [one("v3-ParticipationType:ESC")]
    return [{"type": escort, "individual": reference(id)} for guardian, id in pairs if guardian.accompanied]


def consenting(context: Context) -> list[Json]:
    """Who gave the consent for the client: the only guardian, or the only one with parental responsibility."""
    consent, guardians = context.visit.consent, context.visit.client.guardians
    if consent is None or consent.status != "given by guardian":
        return []
    pairs = list(zip(guardians, guardian_ids(context), strict=True))
    able = [id for guardian, id in pairs if guardian.parental_responsibility]
    able = able or [id for guardian, id in pairs if guardian.parental_responsibility is None]
    return [reference(able[0])] if len(able) == 1 else []


def receivers(context: Context, told: str | None) -> list[Json]:
    """Who was told something: the client unless the record names another, whose own words always stand beside."""
    if told is None:
        return [context.patient]
    if relation(told) == CLIENT:
        return [{**context.patient, "display": told}]
    guardians, ids = context.visit.client.guardians, guardian_ids(context)
    meant = [id for guardian, id in zip(guardians, ids, strict=True) if _is_meant(guardian, told)]
    return [{**(reference(meant[0]) if len(meant) == 1 else {}), "display": told}]


def _is_meant(guardian: Guardian, told: str) -> bool:
    named = " ".join(told.casefold().split()) == _plain(guardian.name)
    return named or relation(told) == relation(guardian.relationship)


def _plain(name: Name) -> str:
    return " ".join(" ".join([*name.given, name.family or ""]).casefold().split())
