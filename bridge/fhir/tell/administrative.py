"""Sentences for people, places, consents and where a record came from."""

from __future__ import annotations

from bridge.fhir.own import word
from bridge.fhir.registers import register_name
from bridge.fhir.systems import system
from bridge.fhir.tell.words import address, clock, day, label, listed, moment, name, sentence, words
from bridge.shapes import Json
from bridge.wording import say, say_number


def _codes(concept: Json | None) -> set[str]:
    return {str(c.get("code")) for c in (concept or {}).get("coding", ())}


def nhs_number(patient: Json) -> tuple[str, str] | None:
    """The NHS number spaced 3-3-4 for reading, and what is known of its verification; None without one."""
    for identifier in patient.get("identifier", ()):
        number = str(identifier.get("value", ""))
        if identifier.get("system") == system("nhs-number") and number:
            known = (label(e.get("valueCodeableConcept")) for e in identifier.get("extension", ()))
            status = next((k for k in known if k), "") or say("told.nhs.unknown")
            spaced = f"{number[:3]} {number[3:6]} {number[6:]}" if len(number) == 10 else number
            return spaced, status[:1].lower() + status[1:]
    return None


def tell_patient(patient: Json) -> str:
    said = [name(patient.get("name"))]
    if patient.get("birthDate"):
        said.append(say("told.born", day=day(patient["birthDate"])))
    said += [address(a) for a in patient.get("address", ())]
    if number := nhs_number(patient):
        said.append(say("told.nhs", number=number[0], status=number[1]))
    return ", ".join(said) + "."


def tell_related_person(person: Json) -> str:
    """`Moss Ash (mother, has parental responsibility), 07700 900123.`"""
    relations = ", ".join(words(r) if not word("guardian", r) else label(r) for r in person.get("relationship", ()))
    said = [f"{name(person.get('name'))} ({relations})" if relations else name(person.get("name"))]
    said += [t["value"] for t in person.get("telecom", ()) if t.get("value")]
    return ", ".join(s for s in said if s) + "."


def tell_list(found: Json) -> str:
    """`Allergies and adverse reactions: asked; none known.`"""
    title = str(found.get("title") or label(found.get("code")) or say("told.list"))
    reason = found.get("emptyReason")
    return f"{title}: {label(reason) if reason else say_number('told.list.of', len(found.get('entry', ())))}"


def tell_practitioner(practitioner: Json) -> str:
    said = [name(practitioner.get("name")) or key_of(practitioner)]
    said += [f"{register} {number}" for register, number in registrations(practitioner)]
    said += [label(q.get("code")) for q in practitioner.get("qualification", ())]
    return ", ".join(p for p in said if p) + "."


def registrations(practitioner: Json) -> list[tuple[str, str]]:
    """Each entry in a professional register: words for it and the number."""
    found = [i for i in practitioner.get("identifier", ()) if "type" not in i and i.get("value")]
    return [(register_name(str(i.get("system", ""))) or say("told.register"), str(i["value"])) for i in found]


def key_of(resource: Json) -> str:
    """The practice's own key of a practitioner or of an address book entry."""
    mine = (i for i in resource.get("identifier", ()) if word("key", i.get("type")) == "own key")
    return str(next((i["value"] for i in mine if i.get("value")), ""))


def tell_practitioner_role(role: Json) -> str:
    return (listed([label(c) for c in role.get("code", ())]) or say("told.no-role")) + "."


def tell_organization(organization: Json) -> str:
    said = [organization.get("name") or key_of(organization), *(address(a) for a in organization.get("address", ()))]
    said += [t.get("value", "") for t in organization.get("telecom", ())]
    said += [label(c.get("purpose")) for c in organization.get("contact", ())]
    return ", ".join(p for p in said if p) + "."


def tell_encounter(encounter: Json) -> str:
    when = visit_time(encounter)
    visit = say("told.visit.of", when=when) if when else say("told.visit")
    came = escorted_by(encounter)
    said = [", ".join([visit, *_place_and_attendance(encounter)])]
    said += [say("told.came-with", names=came)] if came else []
    return ". ".join([*said, _came_because(encounter)]) + "."


def tell_attendance(encounter: Json) -> str:
    """The same without what the head of a letter says: when it was, and who came along."""
    said = [", ".join(_place_and_attendance(encounter)), _came_because(encounter)]
    return " ".join(sentence(part) for part in said if part)


def _place_and_attendance(encounter: Json) -> list[str]:
    attendance = "; ".join(label(t) for t in encounter.get("type", ()))
    return [part for part in (visit_place(encounter), attendance) if part]


def _came_because(encounter: Json) -> str:
    reasons = listed([words(r) for r in encounter.get("reasonCode", ())])
    return say("told.came-because", reasons=reasons) if reasons else say("told.came-unknown")


def visit_place(encounter: Json) -> str:
    """`at the clinic`, by the class of the Encounter as we write it; empty for any other."""
    code = encounter.get("class", {}).get("code", "")
    return say(f"told.place.{code}") if code in _PLACES else ""


_PLACES = ("AMB", "HH", "FLD")


def escorted_by(encounter: Json) -> str:
    """Who came along, as the encounter names them; empty where nobody is named."""
    came = [p for p in encounter.get("participant", ()) if any("ESC" in _codes(t) for t in p.get("type", ()))]
    return listed([str(p["individual"]["display"]) for p in came if p.get("individual", {}).get("display")])


def visit_time(encounter: Json) -> str:
    """`6 May 2026, 10:15 to 10:50`; empty where no time is given."""
    start, end = (str(encounter.get("period", {}).get(k, "")) for k in ("start", "end"))
    if not start:
        return ""
    if not clock(end) or not clock(start):
        return moment(start)
    last = clock(end) if day(end) == day(start) else moment(end)
    return say("told.from-to", start=moment(start), end=last)


def tell_consent(consent: Json) -> str:
    policy, provision = consent.get("policyRule", {}), consent.get("provision", {})
    who = listed([str(p["display"]) for p in consent.get("performer", ()) if p.get("display")])
    said = [_consent_given(consent), *([say("told.consent.by", names=who)] if who else [])]
    if until := provision.get("period", {}).get("end"):
        said.append(say("told.consent.until", day=day(until)))
    form = policy.get("text", "")
    form = f" ({form})" if form and form not in {c.get("display") for c in policy.get("coding", ())} else ""
    details: dict[str, list[str]] = {}
    for what, told in _consent_details(provision):
        details.setdefault(what, []).append(told)
    sentences = [", ".join(said) + form, *(f"{what}: {listed(told)}" for what, told in details.items())]
    sentences += [say("told.sharing.no-scope")] if _unscoped(consent) else []
    return " ".join(sentence(s) for s in sentences)


def _unscoped(consent: Json) -> bool:
    """Whether sharing was agreed to, and nothing says what may be shared."""
    given = consent.get("status") == "active" and "OPTIN" in _codes(consent.get("policyRule"))
    return given and "treatment" not in _codes(consent.get("scope")) and not consent.get("provision", {}).get("code")


def _consent_given(consent: Json) -> str:
    policy = consent.get("policyRule", {})
    on = day(str(consent.get("dateTime", "")))
    if "treatment" in _codes(consent.get("scope")):
        said = _first_display(policy) or say("told.consent.recorded")
        return say("told.consent.on", said=said, day=on) if on else said
    if consent.get("status") == "inactive":
        since = day(next((str(p["start"]) for p in _withdrawals(consent) if p.get("start")), ""))
        ended = f"told.sharing.withdrawn{'.given' if on else ''}{'.since' if since else ''}"
        return say(ended, given=on, since=since)
    answer = "given" if "OPTIN" in _codes(policy) else "refused"
    return say(f"told.sharing.{answer}.on", day=on) if on else say(f"told.sharing.{answer}")


def _first_display(concept: Json) -> str:
    """What a coded answer says, whatever words stand beside it."""
    return next((label({"coding": [c]}) for c in concept.get("coding", ()) if c.get("display")), "")


def _withdrawals(consent: Json) -> list[Json]:
    nested = consent.get("provision", {}).get("provision", ())
    return [n.get("period", {}) for n in nested if any(word("consent", c) == "withdrawn" for c in n.get("code", ()))]


def _consent_details(provision: Json) -> list[tuple[str, str]]:
    found = [(say("told.sharing.scope"), label(c)) for c in provision.get("code", ())]
    found += [(say("told.sharing.with"), a["reference"]["display"]) for a in provision.get("actor", ()) if _display(a)]
    for nested in provision.get("provision", ()):
        found += [
            (_first_display(code) or say("told.sharing.also"), label_text(code))
            for code in nested.get("code", ())
            if word("consent", code) != "withdrawn"
        ]
        found += [(say("told.sharing.taken"), _display(a)) for a in nested.get("actor", ()) if _display(a)]
    return found


def _display(actor: Json) -> str:
    return str(actor.get("reference", {}).get("display", ""))


def label_text(code: Json) -> str:
    """The words of a code whose own label only says what kind of remark it is."""
    return str(code.get("text") or label(code))


def tell_device(device: Json) -> str:
    names = listed([n["name"] for n in device.get("deviceName", ()) if n.get("name")])
    versions = listed([v["value"] for v in device.get("version", ()) if v.get("value")])
    if "patient" in device:
        return say("told.device", device=words(device.get("type"))) + "."
    return f"{names} {versions}".strip() + "."


def tell_provenance(provenance: Json) -> str:
    when = provenance.get("occurredDateTime") or provenance.get("recorded", "")
    approved = any("attester" in _codes(a.get("type")) for a in provenance.get("agent", ()))
    if when:
        said = say("told.approved.when" if approved else "told.recorded.when", when=moment(when))
    else:
        said = say("told.approved" if approved else "told.recorded")
    told = [said, *_versions(provenance), *_not_referred(provenance)]
    if sources := source_hashes(provenance):
        told.append(say("told.sha-256", hashes=", ".join(sources)))
    return " ".join(sentence(t) for t in told)


def _not_referred(provenance: Json) -> list[str]:
    """`No referral was made although a red flag was noted (RF01): seen by the service already`."""
    told = [(word("not-referred", r), str(r.get("text", ""))) for r in provenance.get("reason", ())]
    flags = listed([text for what, text in told if what == "rule"])
    key = "told.not-referred.flags" if flags else "told.not-referred"
    return [say(key, flags=flags, reason=reason) for what, reason in told if what == "reason"]


def _versions(provenance: Json) -> list[str]:
    """Which version of the record it is, from the second on."""
    told = {}
    for entity in provenance.get("entity", ()):
        identifier = entity.get("what", {}).get("identifier", {})
        if word("record", identifier.get("type")) == "version":
            told[entity.get("role")] = str(identifier.get("value", "")).rpartition("/")[2]
    if told.get("source", "1") == "1":
        return []
    key = "told.version.replaces" if "revision" in told else "told.version"
    return [say(key, version=told["source"], earlier=told.get("revision", ""))]


def source_hashes(provenance: Json) -> list[str]:
    """SHA-256 of each record that a Provenance names as its source."""
    found = [e.get("what", {}).get("identifier", {}) for e in provenance.get("entity", ())]
    return [i["value"] for i in found if i.get("system") == system("sha-256") and i.get("value")]


def tell_composition(composition: Json) -> str:
    said = [composition.get("title") or say("told.document"), moment(composition.get("date", ""))]
    return ", ".join(s for s in said if s) + "."
