"""Consent: to examination and treatment, and to sharing. Not asked makes no Consent; the letter says so.

R4 wants a policy or policyRule (ppc-1), no type on the root provision, and one on each nested provision. Provisions
say who may see what; how consent was given, what was explained and why it was refused are Observations beside.
"""

from __future__ import annotations

from collections.abc import Sequence

from bridge.build.context import Built, Context, Json, one
from bridge.build.observation import observe
from bridge.build.related_person import consenting
from bridge.fhir.own import coding, fixed
from bridge.fhir.times import to_datetime
from bridge.visit.consent import SharingConsent

TREATMENT_STATUS = {"refused": "rejected", "withdrawn": "inactive"}


def build_treatment_consent(context: Context) -> Built | None:
    consent = context.visit.consent
    if consent is None:
        return None
    for what, texts in (
        ("consent-form", (consent.form,)),
        ("consent-given-by", (consent.given_by,)),
        ("consent-taken-by", (consent.taken_by,)),
        ("consent-explained", consent.explained),
        ("consent-capacity", (consent.capacity,)),
        ("consent-note", (consent.note,)),
    ):
        _tell(context, what, texts)
    gave = consenting(context)
    return context.make(
        "consent-treatment",
        "Consent",
        ("treatment",),
        {
            "identifier": context.fact_identifier("consent", "treatment"),
            "status": TREATMENT_STATUS.get(consent.status, "active"),
            "scope": one("consentscope:treatment"),
            "category": [{"coding": [coding("loinc:64293-4"), coding("loinc:59284-0")]}],
            "patient": context.patient,
            **({"dateTime": to_datetime(consent.at)} if consent.at else {}),
            **({"performer": gave} if gave else {}),
            **({"organization": [context.clinic]} if context.visit.clinic else {}),
            "policyRule": fixed("treatment", consent.status),
        },
    )


def build_sharing_consent(context: Context) -> Built | None:
    consent = context.visit.sharing
    if consent is None or consent.status == "not asked":
        return None
    agreed = consent.status in ("given", "withdrawn")
    _tell(context, "sharing-form", (consent.form,))
    _tell(context, "sharing-reason", (consent.reason,))
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
            "policyRule": one("v3-ActCode:OPTIN" if agreed else "v3-ActCode:OPTOUT"),
            "provision": _sharing_provision(consent),
        },
    )


def _sharing_provision(consent: SharingConsent) -> Json:
    role = one("v3-ParticipationType:PRCP")
    actors = [{"role": role, "reference": {"display": name}} for name in consent.recipients]
    nested = [_deny("except", words) for words in consent.except_for]
    if consent.withdrawn_at:
        withdrawn = _deny("withdrawn", "withdrawn")
        nested.append({**withdrawn, "period": {"start": to_datetime(consent.withdrawn_at)}})
    return {
        **({"period": {"end": to_datetime(consent.valid_until)}} if consent.valid_until else {}),
        **({"actor": actors} if actors else {}),
        "purpose": [coding("v3-ActReason:TREAT")],
        **({"code": [fixed("scope", scope) for scope in consent.scope]} if consent.scope else {}),
        **({"provision": nested} if nested else {}),
    }


def _deny(word: str, text: str) -> Json:
    return {"type": "deny", "code": [fixed("consent", word, text)]}


def _tell(context: Context, what: str, texts: Sequence[str | None]) -> None:
    for index, text in enumerate(texts):
        if text:
            observe(context, what, (index,), {"valueString": text}, [])
