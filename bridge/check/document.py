"""B: a document as a whole: whose it is, what in it is in force, and whether its own consent lets it be shared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.check.look import codings, has, numbered, part, parts, text
from bridge.check.node import Node
from bridge.check.references import Index
from bridge.fhir.in_force import label, modifiers, ours
from bridge.fhir.letter_kind import CLIENT, RECORD, letter_kind
from bridge.fhir.own import own_code, word
from bridge.fhir.systems import system
from bridge.issues import Issue, Where, issue
from bridge.moments import later
from bridge.referral_target import FAMILY_DOCTOR
from bridge.safe_text import code_or
from bridge.shapes import Json

_ABOUT = ("subject", "patient", "for", "beneficiary")
"""Elements of R4 resources that name whom the resource is about."""


def check_document(data: Any, nodes: list[Node]) -> Iterator[Issue]:
    """Issues of a document Bundle; nothing for any other data."""
    if text(data, "resourceType") != "Bundle" or data.get("type") != "document":
        return
    index = Index(data)
    composition: Json = next((e["resource"] for e in index.entries if _is(e["resource"], "Composition")), {})
    yield from _clients(nodes, index, composition)
    yield from _in_force(data)
    yield from _consents(data, index, composition)


def _is(resource: Json, type: str) -> bool:
    return text(resource, "resourceType") == type


def _clients(nodes: list[Node], index: Index, composition: Json) -> Iterator[Issue]:
    named = [n for n in nodes if n.type == "Reference" and n.element.name in _ABOUT and n.value]
    client = index.find(text(part(composition, "subject"), "reference"), composition).resource
    if client is None or not _is(client, "Patient"):
        found = (index.find(text(n.value, "reference"), n.resource).resource for n in named)
        client = next((f for f in found if f is not None and _is(f, "Patient")), None)
    if client is None:
        return
    numbers: dict[str, set[str]] = {}
    for identifier in parts(client, "identifier"):
        numbers.setdefault(text(identifier, "system"), set()).add(text(identifier, "value"))
    for node in named:
        if _another(node, index, client, numbers, composition):
            kind = text(node.resource, "resourceType")[:60]
            message = f"This {kind} is about another client than the document, or about one who cannot be told."
            yield issue("B120", message, Where(path=node.path), cause="B120")


def _another(node: Node, index: Index, client: Json, numbers: dict[str, set[str]], composition: Json) -> bool:
    """`numbers`: the client's own, by system."""
    reference = text(node.value, "reference")
    if reference:
        target = index.find(reference, node.resource)
        if target.resource is not None:
            return _is(target.resource, "Patient") and target.resource is not client
        same = reference == text(part(composition, "subject"), "reference")
        return target.type == "Patient" and target.outside and not same
    identifier = part(node.value, "identifier")
    mine = numbers.get(text(identifier, "system"))
    return mine is not None and bool(text(identifier, "value")) and text(identifier, "value") not in mine


def _in_force(bundle: Json) -> Iterator[Issue]:
    around = {key: value for key, value in bundle.items() if key != "entry"}
    for place in modifiers(around, "Bundle"):
        yield issue("B121", _modified("document"), Where(path=place), cause="B121:modifier")
    for number, entry in numbered(bundle, "entry"):
        resource, path = part(entry, "resource"), f"Bundle.entry[{number}]"
        kind = code_or(text(resource, "resourceType"), "")
        for place in modifiers(entry, path):
            yield issue("B121", _modified(kind or "entry"), Where(path=place), cause="B121:modifier")
        said = "" if ours(resource) else label(_states(resource))
        if said:
            message = f"This {kind or 'entry'} is not in force: {said}."
            yield issue("B121", message, Where(path=f"{path}.resource"), cause=f"B121:{kind}:{said}")


def _states(resource: Json) -> Json:
    """What tells of its state; codes that do not look like any are not quoted."""
    found = {key: value for key, value in resource.items() if key in _STATES}
    if isinstance(status := found.get("status"), str):
        found["status"] = code_or(status, "no code")
    if isinstance(verified := found.get("verificationStatus"), dict):
        codes = [{**c, "code": code_or(text(c, "code"), "no code")} for _, c in numbered(verified, "coding")]
        found["verificationStatus"] = {"coding": codes}
    return found


_STATES = ("resourceType", "status", "verificationStatus", "doNotPerform", "active")


def _modified(what: str) -> str:
    return f"This {what} carries a modifier that may turn its meaning round."


def _consents(bundle: Json, index: Index, composition: Json) -> Iterator[Issue]:
    sharing, kind = [], letter_kind(composition)
    if kind in (CLIENT, RECORD):  # the client's own, or of the whole record, whose newest answer decides
        return
    for number, entry in numbered(bundle, "entry"):
        resource = part(entry, "resource")
        if _is(resource, "Consent") and "patient-privacy" in {code for _, code in codings(resource, "scope")}:
            sharing.append(resource)
            why = _not_allowed(resource, text(composition, "date")) or _another_letter(resource, kind, index)
            if why:
                message = f"The consent to share in this document {why}."
                yield issue("B122", message, Where(path=f"Bundle.entry[{number}].resource"), cause=f"B122:{why}")
    if sharing or not (kind == "referral" or _for_a_doctor(composition, index)):
        return
    reader = "receiver of the referral" if kind == "referral" else "family doctor"
    for number, section in enumerate(parts(composition, "section")):
        uk = (system("uk-headings"), "consent-for-information-sharing") in codings(section, "code")
        if uk or word("section", part(section, "code")) == "sharing":
            where = Where(path=f"Bundle.entry[0].resource.section[{number}]")
            yield issue("B122", f"The document holds no consent to share it with the {reader}.", where)


def _for_a_doctor(composition: Json, index: Index) -> bool:
    patient = index.find(text(part(composition, "subject"), "reference"), composition).resource
    return has(patient or {}, "generalPractitioner")


def _another_letter(consent: Json, kind: str, index: Index) -> str:
    """Why a consent that names what may be shared does not name this kind of letter of ours."""
    named = {word("scope", code) for code in parts(part(consent, "provision"), "code")}
    allowed = {"summary": {"visit summary"}, "referral": {"referral"}}.get(kind, set())
    if kind == "referral" and any(own_code(e["resource"].get("code")) == FAMILY_DOCTOR for e in index.entries):
        allowed = allowed | {"visit summary"}
    known = named - {None}
    covered = not allowed or not known or known & (allowed | {"whole record"})
    return "" if covered else f"names other things to share, not the {'referral' if kind == 'referral' else 'summary'}"


def _not_allowed(consent: Json, date: str) -> str:
    status = text(consent, "status")
    if status != "active":
        return f"is {status[:60]}" if status else "does not say that it is active"
    if "OPTOUT" in {code for _, code in codings(consent, "policyRule")}:
        return "is a refusal"
    until = text(part(part(consent, "provision"), "period"), "end")
    return "had ended before the document was written" if until and later(date, until) else ""
