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
    What the client allowed another clinic than `own` allows us nothing; what they refused there still stands.

    D162 (warning): the client does not want it, or agreed to less. D164 (error): the client excepted something, and
    only a person can tell what. D163 (warning): nothing stands against it, and no consent to hand over the whole record
    to a next clinic is recorded.
    """
    asked = [v for v in visits if v.sharing]
    sharing = asked[-1].sharing if asked else None
    if sharing is None or sharing.status == "not asked":
        return _ask("whether anything may be shared was not asked" if sharing else "no answer on sharing is recorded")
    if sharing.status != "given":
        said = {"refused": "does not want it shared", "withdrawn": "withdrew consent to share"}[sharing.status]
        return _withheld(f"the client {said}", "sharing.status")
    if sharing.scope and "whole record" not in sharing.scope:
        return _withheld("the client agreed to share other things, not the whole record", "sharing.scope")
    if sharing.valid_until and later(visits[-1].start, sharing.valid_until):
        return _withheld("the client's consent to share has ended", "sharing.valid_until")
    if sharing.except_for:
        message = "The client asked that something be left out, and only you can say which facts that means."
        return issue("D164", message, Where(path="sharing.except_for"), cause="D164")
    if of_another(asked[-1].clinic, own):
        return _ask("the newest answer was given to another clinic")
    if "whole record" not in sharing.scope:
        return _ask("the consent to share does not name the whole record")
    if sharing.recipients and not any(may_be_next_clinic(name, asked[-1], own) for name in sharing.recipients):
        return _ask("the consent to share names others, not a next clinic", "sharing.recipients")
    return None


def held_back(found: Issue | None) -> bool:
    """Whether an answer of this module says that nothing is to be written."""
    return found is not None and (found.rule == "D162" or found.severity >= Severity.error)


def _withheld(why: str, path: str) -> Issue:
    message = f"No summary of the whole record is written: {why}."
    return issue("D162", message, Where(path=path), cause=f"D162:{why}")


def _ask(why: str, path: str = "sharing") -> Issue:
    message = f"Ask the client before the whole record leaves the clinic: {why}."
    return issue("D163", message, Where(path=path), cause=f"D163:{why}")
