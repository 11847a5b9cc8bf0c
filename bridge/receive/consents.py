"""Consents as recorded, and the not asked that stands in the letter's section only."""

from __future__ import annotations

from functools import cache
from typing import Any

from bridge.fhir.own import word
from bridge.fhir.systems import system
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.values import kept, part_of_visit
from bridge.visit.consent import SharingConsent, TreatmentConsent
from bridge.wording import in_any_language

Json = dict[str, Any]


def treatment_consent(index: Index) -> TreatmentConsent | None:
    consent = _scoped(index, "treatment")
    if consent is None:
        return None
    return part_of_visit(
        TreatmentConsent,
        kept(
            status=word("treatment", consent["policyRule"]),
            form=_one(index, "consent-form"),
            at=_when(consent.get("dateTime")),
            given_by=_one(index, "consent-given-by"),
            taken_by=_one(index, "consent-taken-by"),
            explained=_texts(index, "consent-explained"),
            capacity=_one(index, "consent-capacity"),
            note=_one(index, "consent-note"),
        ),
    )


def sharing_consent(index: Index, empty: Json | None) -> SharingConsent | None:
    """From the Consent, or from the section's own reason (`empty`) where nobody asked."""
    consent = _scoped(index, "patient-privacy")
    if consent is None:
        if empty and "notasked" in _codes(empty):
            reason = empty.get("text")
            return part_of_visit(
                SharingConsent, kept(status="not asked", reason=None if reason in _not_asked() else reason)
            )
        return None
    policy = consent["policyRule"]
    provision = consent.get("provision", {})
    told = _told(consent)
    agreed = "OPTIN" in _codes(policy)
    status = "withdrawn" if consent.get("status") == "inactive" else "given" if agreed else "refused"
    withdrawn = (
        p.get("period", {}).get("start")
        for p in provision.get("provision", ())
        if any(word("consent", c) == "withdrawn" for c in p.get("code", ()))
    )
    return part_of_visit(
        SharingConsent,
        kept(
            status=status,
            recipients=tuple(a["reference"].get("display") for a in provision.get("actor", ())),
            scope=tuple(s for s in (word("scope", c) for c in provision.get("code", ())) if s),
            except_for=tuple(told.get("except", ())),
            form=_one(index, "sharing-form"),
            at=_when(consent.get("dateTime")),
            valid_until=_when(provision.get("period", {}).get("end")),
            withdrawn_at=_when(next(withdrawn, None)),
            reason=_one(index, "sharing-reason"),
        ),
    )


@cache
def _not_asked() -> frozenset[str]:
    """The section's own words, where the record gave no reason."""
    return in_any_language("plan.sharing.asked") | in_any_language("plan.client.sharing.asked")


def _scoped(index: Index, scope: str) -> Json | None:
    return index.use(next((c for c in index.of_type("Consent") if scope in _codes(c.get("scope"))), None))


def _told(consent: Json) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for nested in consent.get("provision", {}).get("provision", ()):
        for code in nested.get("code", ()):
            kind = word("consent", code)
            if kind and code.get("text"):
                found.setdefault(kind, []).append(code["text"])
    return found


def _texts(index: Index, kind: str) -> tuple[str, ...]:
    return tuple(o["valueString"] for o in index.observations(kind))


def _one(index: Index, kind: str) -> str | None:
    found = index.observation(kind)
    return found["valueString"] if found else None


def _when(text: str | None) -> str | None:
    return from_datetime(text) if text else None


def _codes(concept: Json | None) -> list[str]:
    return [str(c.get("code")) for c in (concept or {}).get("coding", ()) if c.get("system") != system("own")]
