"""The header of a document: what the Bundle and its Composition say of the whole, and who has to do with it."""

from __future__ import annotations

import re

from bridge.cda.context import Context, objects
from bridge.cda.names import located, named, reached
from bridge.cda.oids import template
from bridge.cda.people import (
    assigned,
    custodian,
    device,
    ids,
    organisation,
    record_target,
    related,
)
from bridge.cda.values import cd, coding, ii, ivl_ts, reference_ii, resource_ii, ts
from bridge.cda.xml import Node, add, node
from bridge.fhir.letter_kind import CLIENT
from bridge.fhir.own import own_code
from bridge.fhir.systems import system
from bridge.fhir.tell.referral import is_referral
from bridge.shapes import Json
from bridge.wording import say

DOCUMENT = template("document")
RELATED = {"replaces": "RPLC", "appends": "APND", "transforms": "XFRM"}
CONFIDENTIALITY = "2.16.840.1.113883.5.25"
FUNCTIONS = "2.16.840.1.113883.5.88"
"""HL7 v3 ParticipationFunction."""
DOCTOR = "PCP"
_ISSUE = re.compile(r"[^/]+/.+/(\d{1,9})(/draft)?")


def header(root: Node, composition: Json, context: Context) -> Node:
    """The root element with all that stands before the body."""
    bundle, patient = context.bundle, context.find(composition.get("subject")) or {}
    issue, set_id = bundle.get("identifier"), composition.get("identifier")
    number = ii("id", issue) if isinstance(issue, dict) else None
    version = _ISSUE.fullmatch(str((issue or {}).get("value", ""))) if isinstance(issue, dict) else None
    title, language = composition.get("title"), composition.get("language")
    add(
        root,
        node("typeId", root="2.16.840.1.113883.1.3", extension="POCD_HD000040"),
        node("templateId", root=DOCUMENT),
        resource_ii("id", bundle) if number is None else number,
        cd("code", composition.get("type")),
        node("title", text=_title(composition, title)) if isinstance(title, str) else None,
        ts("effectiveTime", composition.get("date")),
        node("confidentialityCode", code=str(composition.get("confidentiality", "N")), codeSystem=CONFIDENTIALITY),
        node("languageCode", code=language) if isinstance(language, str) else None,
        ii("setId", set_id) if isinstance(set_id, dict) else None,
        node("versionNumber", value=version[1]) if version else None,
        record_target(patient, context.find(patient.get("managingOrganization")), _guardians(context)),
    )
    add(root, *_authors(composition, context))
    add(root, custodian(context.find(composition.get("custodian"))))
    add(root, *_recipients(patient, context), *_signed(composition, context))
    add(root, *_participants(patient, context), *_events(composition), *_replaced(composition))
    add(root, *_consents(context), _encounter(composition, context))
    return root


def _title(composition: Json, title: str) -> str:
    return say("cda.draft", title=title) if composition.get("status") == "preliminary" else title


def _guardians(context: Context) -> list[Json]:
    """Those of whom the record says that they have parental responsibility or are the legal guardian."""
    return [p for p in context.of("RelatedPerson") if any(map(_guards, objects(p.get("relationship"))))]


def _guards(relation: Json) -> bool:
    codes = {(c.get("system"), c.get("code")) for c in objects(relation.get("coding"))}
    return own_code(relation) == "parental-responsibility" or (system("v3-RoleCode"), "GUARD") in codes


def who(tag: str, reference: Json, context: Context) -> Node:
    """An `assignedAuthor` or `assignedEntity` for a Reference to somebody in the bundle, or to nobody there."""
    found = context.find(reference)
    if found is None:
        id = reference_ii("id", reference)
        return node(tag, node("id", nullFlavor="NI") if id is None else id)
    if found["resourceType"] == "Device":
        return device(found)
    if found["resourceType"] == "Organization":
        return node(tag, *ids(found), organisation("representedOrganization", found))
    practitioner = context.find(found.get("practitioner")) or {}
    return assigned(tag, found, practitioner, context.find(found.get("organization")))


def _authors(composition: Json, context: Context) -> list[Node]:
    authors = objects(composition.get("author")) or [{}]
    date = composition.get("date")
    return [node("author", ts("time", date), who("assignedAuthor", author, context)) for author in authors]


def _recipients(patient: Json, context: Context) -> list[Node]:
    """Who the letter is to: of a referral the service asked, of a summary the family doctor, of a copy the client; of
    the whole record whoever looks after the client next, who has no name yet."""
    kind = str((context.bundle.get("identifier") or {}).get("value", "")).partition("/")[0]
    if kind == CLIENT:
        person = node("informationRecipient", *named("name", patient.get("name")))
        return [node("informationRecipient", node("intendedRecipient", resource_ii("id", patient), person))]
    targets = []
    if kind == "referral":
        targets = [p for r in context.of("ServiceRequest") if is_referral(r) for p in objects(r.get("performer"))]
    elif kind == "summary":
        targets = objects(patient.get("generalPractitioner"))
    found = [r for r in map(context.find, targets) if r and r["resourceType"] == "Organization"]
    return [node("informationRecipient", _intended(one)) for one in _apart(found)]


def _apart(resources: list[Json]) -> list[Json]:
    return list({str(r.get("id")): r for r in resources}.values())


def _intended(service: Json) -> Node:
    return node(
        "intendedRecipient",
        resource_ii("id", service),
        *located("addr", service.get("address")),
        *reached("telecom", service.get("telecom")),
        _contact("informationRecipient", service),
        organisation("receivedOrganization", service),
    )


def _contact(tag: str, service: Json) -> Node | None:
    named = [c["name"] for c in objects(service.get("contact")) if isinstance(c.get("name"), dict)]
    text = named[0].get("text") if named else None
    return node(tag, node("name", text=text)) if isinstance(text, str) else None


def _signed(composition: Json, context: Context) -> list[Node]:
    """Who stands by the document. A draft has nobody, and says in its title that it is one."""
    legal, others = list[Node](), list[Node]()
    for attester in objects(composition.get("attester")):
        party = attester.get("party")
        if not isinstance(party, dict) or not attester.get("time"):
            continue
        law = attester.get("mode") == "legal" and not legal
        (legal if law else others).append(
            node(
                "legalAuthenticator" if law else "authenticator",
                ts("time", attester["time"]),
                node("signatureCode", code="S"),
                who("assignedEntity", party, context),
            )
        )
    return [*legal, *others]


def _participants(patient: Json, context: Context) -> list[Node]:
    doctors = map(context.find, objects(patient.get("generalPractitioner")))
    made = [_doctor(d) for d in doctors if d and d["resourceType"] == "Organization"]
    return [*made, *map(related, context.of("RelatedPerson"))]


def _doctor(practice: Json) -> Node:
    entity = node(
        "associatedEntity",
        resource_ii("id", practice),
        _contact("associatedPerson", practice),
        organisation("scopingOrganization", practice),
        classCode="PROV",
    )
    function = node("functionCode", code=DOCTOR, codeSystem=FUNCTIONS)
    return node("participant", function, entity, typeCode="IND")


def _events(composition: Json) -> list[Node]:
    made = []
    for event in objects(composition.get("event")):
        codes, period = objects(event.get("code")), event.get("period")
        code = cd("code", codes[0]) if codes else None
        when = ivl_ts("effectiveTime", period) if isinstance(period, dict) else None
        made.append(node("documentationOf", node("serviceEvent", code, when)))
    return made


def _replaced(composition: Json) -> list[Node]:
    made = []
    for link in objects(composition.get("relatesTo")):
        kind, target = RELATED.get(str(link.get("code"))), link.get("targetIdentifier")
        number = ii("id", target) if isinstance(target, dict) else None
        if kind and number is not None:
            made.append(node("relatedDocument", node("parentDocument", number), typeCode=kind))
    return made


def _consents(context: Context) -> list[Node]:
    """Consents that were given and hold; one that was refused or withdrawn would read as given here."""
    made = []
    for consent in context.of("Consent"):
        rule = objects((consent.get("policyRule") or {}).get("coding"))
        refused = any(c.get("code") == "OPTOUT" for c in rule)
        if consent.get("status") == "active" and not refused:
            code = cd("code", consent.get("scope"))
            given = node("consent", resource_ii("id", consent), code, node("statusCode", code="completed"))
            made.append(node("authorization", given))
    return made


def _encounter(composition: Json, context: Context) -> Node | None:
    visit = context.find(composition.get("encounter"))
    if visit is None:
        return None
    period, kind = visit.get("period"), visit.get("class")
    clinic = context.find(visit.get("serviceProvider"))
    facility = node("healthCareFacility", organisation("serviceProviderOrganization", clinic)) if clinic else None
    encounter = node(
        "encompassingEncounter",
        *ids(visit),
        coding("code", kind) if isinstance(kind, dict) else None,
        ivl_ts("effectiveTime", period if isinstance(period, dict) else {}),
        node("location", facility) if facility is not None else None,
    )
    return node("componentOf", encounter)
