"""Client, practitioners, clinic and family doctor from resources of another system."""

from __future__ import annotations

import re
from typing import Any

from bridge.fhir.registers import register_key
from bridge.fhir.systems import system
from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.nodes import Node, Taking, plain, valid
from bridge.regions import organisation_systems
from bridge.shapes import Json
from bridge.visit.people import Address, Client, Clinic, FamilyDoctor, Guardian, Identifier, Name, Practitioner

NHS_STATUS = "https://fhir.hl7.org.uk/StructureDefinition/Extension-UKCore-NHSNumberVerificationStatus"
_GONE = ("old", "temp")
_SPEAKS_FOR = {("http://terminology.hl7.org/CodeSystem/v3-RoleCode", "GUARD")}
"""Who surely speaks for the client: a guardian. A parent or next of kin may, or may not."""


def client(patient: Node, take: Taking) -> Client | None:
    """The client; None where no name can be read. Their number at the other clinic is one of their identifiers."""
    names = [n for n in patient.each("name") if n.text("use") not in ("old", "temp", "anonymous", "maiden", "nickname")]
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
    homes = [a for a in patient.each("address") if a.text("use") not in ("old", "temp", "billing", "work")]
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
    for number in patient.each("identifier"):
        if number.text("use") in _GONE or not number.text("value"):
            continue
        if number.text("system") == system("nhs-number") and "nhs_number" not in found:
            value = number.text("value")
            if re.fullmatch(r"\d{10}", value):
                found["nhs_number"] = take.say(number, "value")
                take.mean(number, "system")
                found["nhs_number_status"] = _status(number, take)
            continue
        assigner = "display" if number.at("assigner").text("display") else "system"
        inner = Taking()
        by = inner.say(number.at("assigner"), "display") if assigner == "display" else inner.say(number, "system")
        made = valid(Identifier, {"value": inner.say(number, "value"), "assigner": by})
        if isinstance(made, Identifier):
            others.append(made)
            take.add(inner)
    return {**found, "identifiers": tuple(others)}


def _status(number: Node, take: Taking) -> str | None:
    for extension in number.each("extension"):
        if extension.text("url") == NHS_STATUS:
            for coding in extension.at("valueCodeableConcept").each("coding"):
                if coding.text("code") in {f"0{n}" for n in range(1, 9)}:
                    take.mean(coding, "system", "display")
                    take.mean(extension, "url")
                    return take.say(coding, "code")
    return None


def name(human: Node, take: Taking) -> Name | None:
    """A name in its parts; one that is only a text is not taken apart."""
    inner = Taking()
    given = tuple(g.data for g in human.each("given") if plain(g.data))
    prefix = human.each("prefix")
    whole = {"family": inner.say(human, "family"), "given": given}
    if len(prefix) == 1 and plain(prefix[0].data):
        whole["prefix"] = prefix[0].data
    made = valid(Name, whole)
    if not isinstance(made, Name):
        made = valid(Name, {"family": Taking().say(human, "text")})
        if isinstance(made, Name):
            inner = Taking()
            inner.say(human, "text")
            take.add(inner)
            return made
        return None
    inner.held += ((human.source, g.path) for g in human.each("given") if g.data in made.given)
    if made.prefix:
        inner.held.append((human.source, prefix[0].path))
    inner.mean(human, "text", "use")
    take.add(inner)
    return made


def address(postal: Node, take: Taking) -> Address | None:
    inner = Taking()
    lines = [n for n in postal.each("line") if plain(n.data)]
    district = "district" if postal.text("district") else "state"
    made = valid(
        Address,
        {
            "lines": tuple(n.data for n in lines),
            "city": inner.say(postal, "city"),
            "district": inner.say(postal, district),
            "postcode": inner.say(postal, "postalCode"),
            "country": inner.say(postal, "country"),
        },
    )
    if not isinstance(made, Address):
        return None
    inner.held += ((postal.source, n.path) for n in lines)
    inner.mean(postal, "text", "use", "type")
    take.add(inner)
    return made


def contacts(node: Node, kind: str, take: Taking) -> tuple[str, ...]:
    points = [p for p in node.each("telecom") if p.text("system") == kind and p.text("use") not in _GONE]
    found = []
    for point in points:
        value = take.say(point, "value")
        if value:
            take.mean(point, "system", "use", "rank")
            found.append(value)
    return tuple(found)


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


def practitioner(who: Node, role: Node | None, take: Taking) -> Practitioner | None:
    """A practitioner of another clinic, under a key that is no key of ours."""
    inner = Taking()
    numbers = [i for i in who.each("identifier") if i.text("value") and i.text("use") not in _GONE]
    told = next((i.text("value") for i in numbers), "") or who.text("id") or who.at("name").text("text")
    registrations = []
    for number in numbers:
        key = register_key(number.text("system")[:200])
        if key and (value := inner.say(number, "value")):
            inner.mean(number, "system")
            registrations.append({"register_key": key, "number": value})
    names = [n for n in who.each("name") if n.text("use") != "old"]
    fields: dict[str, Any] = {
        "key": f"received {told}".strip()[:200] if told else None,
        "name": name(names[0], inner) if names else None,
        "role": _role(who, role, inner),
        "registrations": tuple(registrations),
        "phone": next(iter(contacts(who, "phone", inner)), None),
    }
    if not told and fields["name"]:
        fields["key"] = f"received {fields['name'].family or fields['name'].given[0]}"[:200]
    made = valid(Practitioner, fields)
    if not isinstance(made, Practitioner):
        return None
    take.add(inner)
    return made


def _role(who: Node, role: Node | None, take: Taking) -> str | None:
    concepts = [*(role.each("code") if role else ()), *(q.at("code") for q in who.each("qualification"))]
    for concept in concepts:
        said = take.say(concept, "text")
        if said:
            return said
        for coding in concept.each("coding"):
            if shown := take.say(coding, "display"):
                return shown
    return None


def clinic(organization: Node, take: Taking) -> Clinic | None:
    inner = Taking()
    places = organization.each("address")
    made = valid(
        Clinic,
        {
            "name": inner.say(organization, "name"),
            "organisation_code": organisation_code(organization, inner),
            "address": address(places[0], inner) if places else None,
            "phone": next(iter(contacts(organization, "phone", inner)), None),
            "email": next(iter(contacts(organization, "email", inner)), None),
        },
    )
    if not isinstance(made, Clinic):
        return None
    take.add(inner)
    return made


def organisation_code(organization: Node, take: Taking) -> str | None:
    known = {system(short) for short in organisation_systems()}
    for number in organization.each("identifier"):
        if number.text("system") in known and number.text("use") not in _GONE:
            take.mean(number, "system", "use")
            return take.say(number, "value")
    return None


def family_doctor(patient: Node, addresses: Addresses, take: Taking) -> FamilyDoctor | None:
    """The family doctor's practice, where exactly one is told and leads to an organisation."""
    references = patient.each("generalPractitioner")
    found = addresses.find(references[0]) if len(references) == 1 else None
    if not found:
        return None
    inner = Taking()
    doctor = None
    if found.text("resourceType") == "PractitionerRole" and found.at("active").data is not False:
        who = addresses.find(found.at("practitioner"))
        names = who.each("name") if who else []
        doctor = inner.say(names[0], "text") if names else None
        practice = addresses.find(found.at("organization"))
    else:
        practice = found
    if not practice or practice.text("resourceType") != "Organization" or practice.at("active").data is False:
        return None
    places = practice.each("address")
    made = valid(
        FamilyDoctor,
        {
            "practice": inner.say(practice, "name"),
            "organisation_code": organisation_code(practice, inner),
            "doctor": doctor,
            "address": address(places[0], inner) if places else None,
            "phone": next(iter(contacts(practice, "phone", inner)), None),
            "email": next(iter(contacts(practice, "email", inner)), None),
        },
    )
    if not isinstance(made, FamilyDoctor):
        return None
    take.add(inner)
    take.mean(references[0], "reference")
    return made
