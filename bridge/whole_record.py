"""Whether the whole record of a client may be written for the next clinic, by their newest answer on sharing."""

from __future__ import annotations

from collections.abc import Sequence

from bridge.issues import Issue, Severity, Where, issue
from bridge.moments import later
from bridge.referral_target import may_be_next_clinic
from bridge.same_clinic import of_another
from bridge.visit import Clinic, Visit


def hand_over(visits: Sequence[Visit], own: Clinic | None = None) -> Issue | None:
    """None where the newest answer of the visits, oldest first, names the whole record; otherwise what is to be told.
    What the client allowed another clinic than `own` allows us nothing; what they refused there still stands. That they
    were not asked at a later visit, or allowed it to another clinic, takes back no refusal.

    D162 (warning): the client does not want it, or agreed to less. D164 (error): the client excepted something, and
    only a person can tell what. D163 (warning): nothing stands against it, and no consent to hand over the whole record
    to a next clinic is recorded.
    """
    asked = [visit for visit in reversed(visits) if visit.sharing]
    if not asked:
        return _ask("no answer on sharing is recorded")
    newest = _answered(asked[0], visits[-1].start, own)
    for visit in asked:
        found = _answered(visit, visits[-1].start, own)
        if held_back(found):
            return found
        if not _not_asked(visit) and not of_another(visit.clinic, own):
            break
    return newest


def _answered(visit: Visit, now: str, own: Clinic | None) -> Issue | None:
    sharing = visit.sharing
    if sharing is None or _not_asked(visit):
        return _ask("whether anything may be shared was not asked")
    if sharing.status != "given":
        said = "does not want it shared" if sharing.status == "refused" else "withdrew consent to share"
        return _withheld(f"the client {said}", "sharing.status")
    if sharing.scope and "whole record" not in sharing.scope:
        return _withheld("the client agreed to share other things, not the whole record", "sharing.scope")
    if sharing.valid_until and later(now, sharing.valid_until):
        return _withheld("the client's consent to share has ended", "sharing.valid_until")
    if sharing.except_for:
        message = "The client asked that something be left out, and only you can say which facts that means."
        return issue("D164", message, Where(path="sharing.except_for"), cause="D164")
    if of_another(visit.clinic, own):
        return _ask("the newest answer was given to another clinic")
    if "whole record" not in sharing.scope:
        return _ask("the consent to share does not name the whole record")
    if sharing.recipients and not any(may_be_next_clinic(name, visit, own) for name in sharing.recipients):
        return _ask("the consent to share names others, not a next clinic", "sharing.recipients")
    return None


def _not_asked(visit: Visit) -> bool:
    return visit.sharing is not None and visit.sharing.status == "not asked"


def held_back(found: Issue | None) -> bool:
    """Whether an answer of this module says that nothing is to be written."""
    return found is not None and (found.rule == "D162" or found.severity >= Severity.error)


def _withheld(why: str, path: str) -> Issue:
    message = f"No summary of the whole record is written: {why}."
    return issue("D162", message, Where(path=path), cause=f"D162:{why}")


def _ask(why: str, path: str = "sharing") -> Issue:
    message = f"Ask the client before the whole record leaves the clinic: {why}."
    return issue("D163", message, Where(path=path), cause=f"D163:{why}")
