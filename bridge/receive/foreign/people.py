"""Names, addresses, practitioners, clinic and family doctor from resources of another system."""

from __future__ import annotations

from typing import Any

from bridge.fhir.registers import register_key
from bridge.fhir.systems import system
from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.nodes import Node, Taking, plain, small, valid
from bridge.regions import organisation_systems
from bridge.visit.people import Address, Clinic, FamilyDoctor, Name, Practitioner


def current(node: Node) -> bool:
    """Whether a name, number, address or telephone is neither called old nor at its end."""
    return node.text("use") not in ("old", "temp") and not node.at("period").has("end")


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
    points = [p for p in node.each("telecom") if p.text("system") == kind and current(p)]
    found = []
    for point in points:
        value = take.say(point, "value")
        if value:
            take.mean(point, "system", "use", "rank")
            found.append(value)
    return tuple(found)


def practitioner(who: Node, role: Node | None, take: Taking) -> Practitioner | None:
    """A practitioner of another clinic, under a key that is no key of ours."""
    inner = Taking()
    numbers = [i for i in who.each("identifier") if i.text("value") and current(i)]
    told = next((i.text("value") for i in numbers), "") or who.text("id") or who.at("name").text("text")
    registrations = []
    for number in numbers:
        key = register_key(number.text("system")[:200])
        if key and (value := inner.say(number, "value")):
            inner.mean(number, "system")
            registrations.append({"register_key": key, "number": value})
    names = [n for n in who.each("name") if current(n)]
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
        if number.text("system") in known and current(number):
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
    if not small(practice) or practice.source.modified:
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
