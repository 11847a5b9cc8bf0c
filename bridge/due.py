"""Which letters of a visit are due, or why not: the summary for the family doctor, and the referral. Never assumed."""

from __future__ import annotations

from bridge.issues import Issue, Severity, Where, issue
from bridge.moments import later
from bridge.referral_target import is_own_doctor, names, to_family_doctor
from bridge.visit import Visit
from bridge.visit.consent import SharingConsent

LETTERS = ("summary", "referral")
"""Kinds of letters, as the section plans in mappings/documents name them."""


def letters_due(visit: Visit) -> tuple[str, ...]:
    """The kinds of letters that the consent of this visit lets go out."""
    found = ["summary"] if letter_due(visit) is None else []
    return (*found, "referral") if visit.referral and referral_due(visit) is None else tuple(found)


def letter_due(visit: Visit) -> Issue | None:
    """None where the visit summary may go to the family doctor; otherwise the issue that says why not.

    D101 (information): none is due. D110 and D113 (error): nobody can tell, because consent is not recorded, or
    leaves out what a program cannot find.
    """
    if visit.attendance == "did not attend":
        return _not_due("the client did not attend", "attendance")
    sharing = visit.sharing
    if sharing is None:
        return _not_recorded()
    if sharing.status != "given":
        said = {
            "refused": "the client does not want the family doctor told",
            "not asked": "the client was not asked whether the family doctor may be told",
            "withdrawn": "the client withdrew consent to share",
        }
        return _not_due(said[sharing.status], "sharing.status")
    if sharing.scope and not {"visit summary", "whole record"} & set(sharing.scope):
        return _not_due("the client agreed to share other things, not the visit summary", "sharing.scope")
    if sharing.recipients and not any(is_own_doctor(r, visit.family_doctor) for r in sharing.recipients):
        return _not_due("the client agreed to tell others, not the family doctor", "sharing.recipients")
    if _ended(visit, sharing):
        return _not_due("the client's consent to share had ended before the visit", "sharing.valid_until")
    if sharing.except_for:
        return _left_out()
    doctor = visit.family_doctor
    if doctor is not None and doctor.answer in ("none", "unknown"):
        return _not_due("the client has no family doctor that is known", "family_doctor")
    return None


def referral_due(visit: Visit) -> Issue | None:
    """None where the referral letter may go to its receiver; otherwise the issue that says why not.

    D138 (warning): the client does not want it. D110, D113 and D127 (error): the consent does not tell.
    """
    if visit.attendance == "did not attend":
        return _no_referral("the client did not attend", "attendance")
    sharing = visit.sharing
    if sharing is None:
        return _not_recorded()
    if sharing.status in ("refused", "withdrawn"):
        said = {"refused": "the client does not want it shared", "withdrawn": "the client withdrew consent to share"}
        return _no_referral(said[sharing.status], "sharing.status")
    if sharing.status == "not asked":
        return _no_consent("the client was not asked", "sharing.status")
    if _ended(visit, sharing):
        return _no_consent("the client's consent to share had ended before the visit", "sharing.valid_until")
    if sharing.except_for:
        return _left_out()
    why, path = _not_covered(visit)
    return _no_consent(why, path) if why else None


def _not_covered(visit: Visit) -> tuple[str, str]:
    """What keeps a given consent from being one for this referral: the family doctor's is not one for others."""
    sharing, referral = visit.sharing, visit.referral
    assert sharing is not None
    assert referral is not None
    doctor = to_family_doctor(referral, visit.family_doctor)
    allowed = {"referral", "whole record"} | ({"visit summary"} if doctor else set())
    if sharing.scope and not allowed & set(sharing.scope):
        return "the consent to share names other things, not the referral", "sharing.scope"
    if sharing.recipients and not any(names(r, referral, visit.family_doctor) for r in sharing.recipients):
        return "the consent to share names others, not the receiver of the referral", "sharing.recipients"
    if not (sharing.scope or sharing.recipients or doctor):
        return "the consent to share is for the family doctor only", "sharing.scope"
    return "", ""


def _ended(visit: Visit, sharing: SharingConsent) -> bool:
    return bool(sharing.valid_until and later(visit.start, sharing.valid_until))


def _not_recorded() -> Issue:
    return issue("D110", "Whether the family doctor may be told is not recorded.", Where(path="sharing.status"))


def _left_out() -> Issue:
    message = "The client asked that something be left out, and only you can say which facts that means."
    return issue("D113", message, Where(path="sharing.except_for"))


def _not_due(why: str, path: str) -> Issue:
    message = f"No letter to the family doctor is due: {why}."
    return issue("D101", message, Where(path=path), cause=f"D101:{why}")


def _no_referral(why: str, path: str) -> Issue:
    message = f"A referral is recorded, but no letter is made: {why}."
    return issue("D138", message, Where(path=path), cause=f"D138:{why}")


def _no_consent(why: str, path: str) -> Issue:
    message = f"The referral letter lacks the client's consent to refer and share: {why}."
    return issue("D127", message, Where(path=path), cause=f"D127:{why}")


def withheld(found: Issue | None) -> bool:
    """Whether an answer of this module says that a letter is not due, and not that something is missing."""
    return found is not None and found.severity < Severity.error
