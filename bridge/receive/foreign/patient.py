"""The client from a Patient of another system."""

from __future__ import annotations

import re

from bridge.fhir.systems import system
from bridge.receive.foreign.nodes import Node, Taking, valid
from bridge.receive.foreign.people import address, contacts, current, name
from bridge.shapes import Json
from bridge.visit.people import Client, Guardian, Identifier

NHS_STATUS = "https://fhir.hl7.org.uk/StructureDefinition/Extension-UKCore-NHSNumberVerificationStatus"
_SPEAKS_FOR = {("http://terminology.hl7.org/CodeSystem/v3-RoleCode", "GUARD")}
"""Who surely speaks for the client: a guardian. A parent or next of kin may, or may not."""


def client(patient: Node, take: Taking) -> Client | None:
    """The client; None where no name can be read. Their number at the other clinic is one of their identifiers."""
    names = [n for n in patient.each("name") if current(n) and n.text("use") not in ("anonymous", "maiden", "nickname")]
    legal = next((n for n in names if n.text("use") == "official"), names[0] if names else None)
    usual = next((n for n in names if n.text("use") == "usual" and n is not legal), None)
    made_name = name(legal, take) if legal else None
    if made_name is None:
        return None
    fields: Json = {"legal_name": made_name, "usual_name": name(usual, take) if usual else None}
    fields["former_names"] = tuple(m for n in patient.each("name") if n.text("use") == "old" and (m := name(n, take)))
    fields["birth_date"] = take.say(patient, "birthDate")
    fields["sex"] = take.say(patient, "gender")
    fields |= _numbers(patient, take)
    homes = [a for a in patient.each("address") if current(a) and a.text("use") not in ("billing", "work")]
    fields["address"] = address(homes[0], take) if homes else None
    fields["phones"], fields["emails"] = contacts(patient, "phone", take), contacts(patient, "email", take)
    spoken = patient.each("communication")
    preferred = next((c for c in spoken if c.at("preferred").data is True), spoken[0] if len(spoken) == 1 else None)
    fields["language"] = take.say(preferred.at("language"), "text") if preferred else None
    fields["guardians"] = tuple(g for c in patient.each("contact") if (g := _guardian(c, take)))
    made = valid(Client, fields)
    if not isinstance(made, Client):
        for optional in ("birth_date", "sex", "nhs_number_status"):
            fields.pop(optional, None)
        take.held = [h for h in take.held if h[1] not in ("birthDate", "gender")]
        made = valid(Client, fields)
    return made if isinstance(made, Client) else None


def _numbers(patient: Node, take: Taking) -> Json:
    found: Json = {}
    others = []
    told = [
        i.text("value") for i in patient.each("identifier") if i.text("system") == system("nhs-number") and current(i)
    ]
    nhs = {re.sub(r"[\s-]", "", value) for value in told}
    for number in patient.each("identifier"):
        if not current(number) or not number.text("value"):
            continue
        if number.text("system") == system("nhs-number"):
            if len(nhs) == 1:
                found |= _nhs_number(number, take)
            continue
        assigner = "display" if number.at("assigner").text("display") else "system"
        inner = Taking()
        by = inner.say(number.at("assigner"), "display") if assigner == "display" else inner.say(number, "system")
        made = valid(Identifier, {"value": inner.say(number, "value"), "assigner": by})
        if isinstance(made, Identifier):
            others += [made] if made not in others else []
            take.add(inner)
    return {**found, "identifiers": tuple(others)}


def _nhs_number(number: Node, take: Taking) -> Json:
    """The number in ten digits, whatever stands between them, with how it was traced."""
    value = re.sub(r"[\s-]", "", number.text("value"))
    if not re.fullmatch(r"[0-9]{10}", value):
        return {}
    if value == number.text("value"):
        take.say(number, "value")
    take.mean(number, "system", "value")
    return {"nhs_number": value, "nhs_number_status": _status(number, take)}


def _status(number: Node, take: Taking) -> str | None:
    for extension in number.each("extension"):
        if extension.text("url") == NHS_STATUS:
            for coding in extension.at("valueCodeableConcept").each("coding"):
                if coding.text("code") in {f"0{n}" for n in range(1, 9)}:
                    take.mean(coding, "system", "display")
                    take.mean(extension, "url")
                    return take.say(coding, "code")
    return None


def _guardian(contact: Node, take: Taking) -> Guardian | None:
    inner = Taking()
    for relationship in contact.each("relationship"):
        if _SPEAKS_FOR & set(relationship.codes()) and not contact.has("period"):
            words = inner.say(relationship, "text") or inner.say(relationship.each("coding")[0], "display")
            fields = {"name": name(contact.at("name"), inner), "relationship": words or "guardian"}
            made = valid(Guardian, {**fields, "phone": next(iter(contacts(contact, "phone", inner)), None)})
            if isinstance(made, Guardian):
                take.add(inner)
                return made
    return None
