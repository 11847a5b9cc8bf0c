"""Whether a letter to the family doctor is due, or why not. Consent is never assumed."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.issues import Issue, Where, issue
from bridge.visit import Visit


def letter_due(visit: Visit) -> Issue | None:
    """None where the visit summary may go to the family doctor; otherwise the issue that says why not.

    D101 (information): none is due. D110 and D113 (error): nobody can tell, because consent is not recorded, or
    leaves out what a program cannot find.
    """
    if visit.attendance == "did not attend":
        return _not_due("the client did not attend", "attendance")
    sharing = visit.sharing
    if sharing is None:
        return issue("D110", "Whether the family doctor may be told is not recorded.", Where(path="sharing.status"))
    if sharing.status != "given":
        said = {
            "refused": "the client does not want the family doctor told",
            "not asked": "the client was not asked whether the family doctor may be told",
            "withdrawn": "the client withdrew consent to share",
        }
        return _not_due(said[sharing.status], "sharing.status")
    if sharing.scope and not {"visit summary", "whole record"} & set(sharing.scope):
        return _not_due("the client agreed to share other things, not the visit summary", "sharing.scope")
    if sharing.recipients and not any(_is_family_doctor(r) for r in sharing.recipients):
        return _not_due("the client agreed to tell others, not the family doctor", "sharing.recipients")
    if sharing.valid_until and sharing.valid_until < visit.start[: len(sharing.valid_until)]:
        return _not_due("the client's consent to share had ended before the visit", "sharing.valid_until")
    if sharing.except_for:
        message = "The client asked that something be left out, and only you can say which facts that means."
        return issue("D113", message, Where(path="sharing.except_for"))
    doctor = visit.family_doctor
    if doctor is not None and doctor.answer in ("none", "unknown"):
        return _not_due("the client has no family doctor that is known", "family_doctor")
    return None


def _not_due(why: str, path: str) -> Issue:
    return issue("D101", f"No letter is due: {why}.", Where(path=path), cause=f"D101:{why}")


@cache
def _family_doctor_words() -> frozenset[str]:
    return frozenset(row["word"] for row in load_csv(table_path("words", "recipients.csv")))


def _is_family_doctor(recipient: str) -> bool:
    return " ".join(recipient.casefold().replace("-", " ").split()) in _family_doctor_words()
