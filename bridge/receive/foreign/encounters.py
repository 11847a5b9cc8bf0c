"""One encounter of another system as the frame of a visit: its number, when, where, by whom, why."""

from __future__ import annotations

from bridge.fhir.systems import system
from bridge.receive.foreign.facts import Case, doubted
from bridge.receive.foreign.moments import day, within_a_day
from bridge.receive.foreign.nodes import Node, Taking, plain, small
from bridge.receive.foreign.patient import client
from bridge.receive.foreign.people import clinic, family_doctor, practitioner
from bridge.receive.foreign.statements import doubt, standing
from bridge.shapes import Json

PLACES = {"AMB": "clinic", "HH": "home"}
"""Classes of encounter (HL7 v3 ActCode) at rooms of a practice or at the client's home. Others are no visit of ours:
a stay, an emergency, a call."""

DOING = ("PPRF", "SPRF", "ATND", "PART")
"""Parts in an encounter of those who did the work (HL7 v3 ParticipationType); who referred or escorted did not."""


def refusal(encounter: Node, patient: Node) -> str:
    """Why no visit can be made of an encounter; empty where one can."""
    if encounter.source.modified or patient.source.modified:
        return "carries a modifier that nobody here can read"
    if standing(encounter, Taking()) != "stated":
        return "is not finished, or says no state that can be read"
    if encounter.at("class").text("code") not in PLACES or encounter.at("class").text("system") != system("v3-ActCode"):
        return "is neither at a practice nor at home (class AMB or HH)"
    if not day(encounter.at("period").text("start")):
        return "does not say the day on which it began"
    if not within_a_day(encounter.at("period").text("start"), encounter.at("period").text("end")):
        return "lasted for days, or ended before it began"
    if not small(patient):
        return "is of a client with more names, numbers or addresses than can be looked at"
    if not number_of(encounter):
        return "has no number"
    if any(patient.source.resource.get(key) for key in ("link",)) or patient.at("active").data is False:
        return "is of a client whose record is linked to another, or no longer in use"
    return ""


def frame(encounter: Node, patient: Node, case: Case, take: Taking) -> Json | None:
    """The fields of a visit around the ears; None where the client cannot be named."""
    who = client(patient, take)
    if who is None:
        return None
    standing(encounter, take)
    take.mean(encounter.at("class"), "system", "code", "display")
    custodian = case.addresses.find(encounter.at("serviceProvider"))
    fields: Json = {
        "number": _number(encounter, take),
        "client": who,
        "start": take.when(encounter.at("period"), "start"),
        "end": take.when(encounter.at("period"), "end"),
        "place": PLACES[encounter.at("class").text("code")],
        "reasons": tuple(_reasons(encounter, case, take)),
        "practitioners": tuple(_practitioners(encounter, case, take)),
    }
    if _of(custodian, "Organization"):
        fields["clinic"] = clinic(custodian, take)  # type: ignore[arg-type] # looked at above
    fields["family_doctor"] = family_doctor(patient, case.addresses, take)
    return {key: value for key, value in fields.items() if value is not None and value != ()}


def number_of(encounter: Node) -> str:
    """What its visit would be numbered; empty where it has no number."""
    return _number(encounter, Taking())


def _number(encounter: Node, take: Taking) -> str:
    """Its number as a visit (VN), else the first one in use, else its id or address where it came from."""
    numbers = [
        i for i in encounter.each("identifier") if plain(i.text("value")) and i.text("use") not in ("old", "temp")
    ]
    named = [i for i in numbers if "VN" in {code for _, code in i.at("type").codes()}]
    for number in [*named, *numbers][:1]:
        return take.say(number, "value") or ""
    if told := take.say(encounter, "id"):
        return told
    address = encounter.source.url.rpartition(":" if encounter.source.url.startswith("urn:") else "/")[2]
    return address if plain(address) else ""


def _reasons(encounter: Node, case: Case, take: Taking) -> list[object]:
    found: list[object] = []
    for reason in encounter.each("reasonCode"):
        if list(reason.codes()) and doubt(reason, "reason"):
            doubted(encounter, case)
        elif term := take.term(reason):
            found.append(term)
    return found


def _practitioners(encounter: Node, case: Case, take: Taking) -> list[object]:
    found: dict[str, object] = {}
    for participant in encounter.each("participant")[:10]:
        if any(code not in DOING for kind in participant.each("type") for _, code in kind.codes()):
            continue
        who, role = case.addresses.find(participant.at("individual")), None
        if _of(who, "PractitionerRole"):
            role, who = who, case.addresses.find(who.at("practitioner"))  # type: ignore[union-attr] # looked at above
        if _of(who, "Practitioner") and (made := practitioner(who, role, take)):  # type: ignore[arg-type]
            found.setdefault(made.key, made)
    return list(found.values())


def _of(node: Node | None, type: str) -> bool:
    if node is None or node.text("resourceType") != type or node.at("active").data is False:
        return False
    return small(node) and not node.source.modified
