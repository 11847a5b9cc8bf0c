"""What was done, how it ended, and how much wax was left."""

from __future__ import annotations

from bridge.fhir.own import own_code
from bridge.fhir.tell.clinical import nothing_done, outcome_fits, procedure_outcome
from bridge.fhir.tell.words import label
from bridge.render.letter.brief.clauses import Clause, clause
from bridge.render.letter.brief.facts import EarFacts, only_looked
from bridge.render.letter.brief.found import wax
from bridge.render.letter.brief.named import with_articles
from bridge.shapes import Json

_OUTCOMES = ("complete", "partial", "none", "stopped", "not-attempted", "not-needed")
_WAXLESS = ("wax-none",)


def done(ear: EarFacts) -> list[Clause]:
    if ear.empty:
        return []
    told = [_work(procedure) for procedure in ear.work]
    if not told and (look := ear.looks.get("before")) and look.wax:
        nothing = own_code(look.wax.get("valueCodeableConcept")) in _WAXLESS
        told = [] if nothing else [clause("brief.no-work")]
    reasons = {label(procedure.get("statusReason")) for procedure in ear.work}
    events = [event for event in ear.events if event.label not in reasons]
    return told + ([clause("brief.events", events=with_articles(events))] if events else [])


def _work(procedure: Json) -> Clause:
    method = label(procedure.get("code"))
    if only_looked(procedure):
        return clause("brief.work.nothing" if nothing_done(procedure) else "brief.work.assessed")
    outcome = (own_code(procedure.get("outcome")) or "").removeprefix("outcome-")
    reason = label(procedure.get("statusReason"))
    if outcome in _OUTCOMES and outcome_fits(procedure):
        return clause(f"brief.work.{outcome}", reason, method=method)
    if not procedure.get("outcome") and procedure.get("status") == "unknown":
        return clause("brief.work.unrecorded", reason, method=method)
    return clause("brief.work.other", method=method, outcome=procedure_outcome(procedure))


def afterwards(ear: EarFacts) -> list[Clause]:
    """What wax there was after the work; nothing where none was done and nobody looked again."""
    look = ear.looks.get("after")
    if look is None:
        return [clause("brief.after.not-recorded")] if ear.worked else []
    if look.view and look.view.limit in ("not-seen", "not-examined"):
        return [clause(f"brief.after.{look.view.limit}", look.view.reason)]
    return [wax(look.wax, "brief.left")]
