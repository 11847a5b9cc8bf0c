"""The two cautions that a doctor may not overlook in an ear letter: the only hearing ear, and anticoagulants."""

from __future__ import annotations

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import first_word, own_code
from bridge.fhir.tell import ear
from bridge.render.entries import Entries
from bridge.wording import say


def cautions(entries: Entries) -> list[str]:
    """Clauses."""
    stand = [
        flag
        for flag in entries.of("Flag")
        if not not_in_force(flag)
        and flag.get("status") == "active"
        and first_word("assertion", flag.get("category", ())) != "past"
    ]
    told = [
        say(f"brief.only-hearing-ear.{ear(flag) or 'unsaid'}")
        for flag in stand
        if own_code(flag.get("code")) == "caution-only-hearing-ear"
    ]
    if any(own_code(flag.get("code")) == "caution-anticoagulant" for flag in stand):
        told.append(say("brief.anticoagulant"))
    return list(dict.fromkeys(told))
