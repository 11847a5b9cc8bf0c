"""What was found at the first look: the wax, or why there was no look."""

from __future__ import annotations

from bridge.fhir.own import own_code
from bridge.fhir.tell.observation import parts
from bridge.fhir.tell.words import amount, label, listed
from bridge.render.letter.brief.clauses import Clause, clause
from bridge.render.letter.brief.facts import EarFacts, absent, known, reason
from bridge.shapes import Json
from bridge.wording import say

_AMOUNTS = ("none", "minimal", "small", "moderate", "heavy", "excess", "impacted", "occluding", "occluding-partly",
            "not-occluding", "seen")  # fmt: skip


def found(ear: EarFacts) -> list[Clause]:
    if not ear.anything:
        return [clause("brief.not-recorded")]
    if ear.notes_only:
        return [clause("brief.notes-only")]
    look = ear.looks.get("before")
    if look is None:
        return [clause("brief.before.not-recorded" if ear.work or ear.looks else "brief.no-examination")]
    if look.view and look.view.limit in ("not-seen", "not-examined"):
        return [clause(f"brief.{look.view.limit}", look.view.reason)]
    return [wax(look.wax, "brief.wax")]


def wax(state: Json | None, stem: str) -> Clause:
    """How much there was, and what it was like as far as a table knows the words."""
    if state is None:
        return clause(f"{stem}.not-recorded")
    if limit := absent(state):
        return clause(f"{stem}.{limit}", reason(state))
    value, details = state.get("valueCodeableConcept"), _details(state)
    code = (own_code(value) or "").removeprefix("wax-")
    if code in _AMOUNTS:
        share = bool(details) and code != "none"
        return clause(f"{stem}.{code}.detail", details=details) if share else clause(f"{stem}.{code}")
    if words := label(value):
        return clause(f"{stem}.noted", words=words)
    return clause(f"{stem}.share", details=details) if details else clause(f"{stem}.not-recorded")


def _details(state: Json) -> str:
    components = parts(state)
    kinds = [known(c.get("valueCodeableConcept")) for c in components.get("wax-consistency", ())]
    share = [say("detail.occlusion", value=amount(c["valueQuantity"])) for c in components.get("occlusion", ())
             if c.get("valueQuantity")]  # fmt: skip
    return ", ".join([*([listed(kinds)] if (kinds := [k for k in kinds if k]) else []), *share])
