"""Consent: to examination and treatment, and to sharing. Not asked makes no Consent; the letter says so.

R4 wants a policy or policyRule (ppc-1) and lets the root provision carry no type; what was left out
at the client's wish, reasons and remarks are nested provisions with a code of our own system.
"""

from __future__ import annotations

from bridge.build.context import Built, Context, Json, one
from bridge.fhir.own import coding, fixed
from bridge.fhir.times import to_datetime
from bridge.visit.consent import SharingConsent, TreatmentConsent

TREATMENT_STATUS = {"refused": "rejected", "withdrawn": "inactive"}
FAMILY_DOCTOR = "family doctor"


def build_treatment_consent(context: Context) -> Built | None:
    consent = context.visit.consent
    if consent is None:
        return None
    policy = fixed("treatment", consent.status)
    if consent.form:
        policy["text"] = consent.form
    provision = [*_taken_by(context, consent), *[_told("explained", words) for words in consent.explained]]
    for word, text in (("capacity", consent.capacity), ("note", consent.note)):
        provision += [_told(word, text)] if text else []
    return context.make(
        "consent-treatment",
        "Consent",
        ("treatment",),
        {
            "identifier": context.fact_identifier("consent", "treatment"),
            "status": TREATMENT_STATUS.get(consent.status, "active"),
            "scope": one("consentscope:treatment"),
            "category": [one("loinc:64293-4")],
            "patient": context.patient,
            **({"dateTime": to_datetime(consent.at)} if consent.at else {}),
            **({"organization": [context.clinic]} if context.visit.clinic else {}),
            "policyRule": policy,
            **({"provision": {"provision": provision}} if provision else {}),
        },
    )


def build_sharing_consent(context: Context) -> Built | None:
    consent = context.visit.sharing
    if consent is None or consent.status == "not asked":
        return None
    agreed = consent.status in ("given", "withdrawn")
    policy = one("v3-ActCode:OPTIN" if agreed else "v3-ActCode:OPTOUT")
    if consent.form:
        policy["text"] = consent.form
    return context.make(
        "consent-sharing",
        "Consent",
        ("sharing",),
        {
            "identifier": context.fact_identifier("consent", "sharing"),
            "status": "inactive" if consent.status == "withdrawn" else "active",
            "scope": one("consentscope:patient-privacy"),
            "category": [one("v3-ActCode:IDSCL")],
            "patient": context.patient,
            **({"dateTime": to_datetime(consent.at)} if consent.at else {}),
            **({"organization": [context.clinic]} if context.visit.clinic else {}),
            "policyRule": policy,
            "provision": _sharing_provision(consent),
        },
    )


def _sharing_provision(consent: SharingConsent) -> Json:
    role = one("v3-ParticipationType:PRCP")
    actors = [{"role": role, "reference": {"display": name}} for name in consent.recipients]
    nested = [_told("except", words, type="deny") for words in consent.except_for]
    if consent.reason:
        nested.append(_told("reason", consent.reason))
    if consent.withdrawn_at:
        withdrawn = _told("withdrawn", "withdrawn", type="deny")
        nested.append({**withdrawn, "period": {"start": to_datetime(consent.withdrawn_at)}})
    return {
        **({"period": {"end": to_datetime(consent.valid_until)}} if consent.valid_until else {}),
        **({"actor": actors} if actors else {}),
        "purpose": [coding("v3-ActReason:TREAT")],
        **({"code": [fixed("scope", scope) for scope in consent.scope]} if consent.scope else {}),
        **({"provision": nested} if nested else {}),
    }


def _told(word: str, text: str, **more: str) -> Json:
    return {**more, "code": [fixed("consent", word, text)]}


def _taken_by(context: Context, consent: TreatmentConsent) -> list[Json]:
    if not consent.taken_by:
        return []
    known = {p.key for p in context.visit.practitioners}
    who = context.practitioner(consent.taken_by) if consent.taken_by in known else {}
    return [{"actor": [{"role": fixed("consent", "taken by"), "reference": {**who, "display": consent.taken_by}}]}]
