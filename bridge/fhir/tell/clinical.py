"""What was thought, done, advised, planned and asked, in words without ear and full stop."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.own import own_code
from bridge.fhir.tell.referral import is_referral, referral_fact
from bridge.fhir.tell.task import priority_words
from bridge.fhir.tell.words import asserted, day, label, listed, sentence, words, words_inside
from bridge.nothing_words import says_nothing
from bridge.shapes import Json
from bridge.wording import say

_STATUSES = ("completed", "stopped", "not-done", "unknown")
_DOUBT = ("provisional", "unconfirmed", "differential")


def _code(concept: Json | None) -> str:
    return str(next((c.get("code") for c in (concept or {}).get("coding", ())), ""))


def condition_fact(condition: Json) -> str:
    """`impacted wax, resolved on 6 May 2026`; doubt, denial and past are said."""
    verification, clinical = _code(condition.get("verificationStatus")), _code(condition.get("clinicalStatus"))
    concept = condition.get("code", {})
    if verification == "refuted":
        said = asserted("absent", concept)
    elif verification == "unconfirmed" and not concept.get("coding"):
        said = asserted("unread", concept)
    elif verification in _DOUBT:
        said = asserted("suspected", concept)
    elif clinical == "resolved":
        over = condition.get("abatementDateTime")
        said = f"{words(concept)}, " + (say("told.resolved.on", day=day(over)) if over else say("told.resolved"))
    elif clinical == "inactive":
        said = asserted("past", concept)
    else:
        said = words(concept)
    if condition.get("onsetDateTime"):
        said += f", {say('told.since', when=day(condition['onsetDateTime']))}"
    if "problem-list-item" in {_code(c) for c in condition.get("category", ())}:
        said += f", {say('told.standing')}"
    return said + _notes(condition)


def procedure_fact(procedure: Json) -> str:
    """`microsuction, outcome: complete; why this method: …; used: fine end`."""
    method = words(procedure.get("code"))
    if nothing_done(procedure):
        said = say("told.nothing-done", words=method)
    else:
        said = say("told.work", method=method, outcome=procedure_outcome(procedure))
    said += "".join(f"; {name}: {words}" for name, words in procedure_details(procedure))
    used = [words(c) for c in procedure.get("usedCode", ())]
    return said + ("; " + say("told.used", things=listed(used)) if used else "") + _notes(procedure)


def nothing_done(procedure: Json) -> bool:
    """Whether the method itself says that there was none, and no outcome says otherwise."""
    return "outcome" not in procedure and says_nothing("method", str(procedure.get("code", {}).get("text", "")))


def procedure_outcome(procedure: Json) -> str:
    """How it ended, in the record's word or else by its status, with the reason."""
    outcome, status = words(procedure.get("outcome")), str(procedure.get("status", ""))
    if outcome and not outcome_fits(procedure):
        ended = say(f"told.work.{status}") if status in _STATUSES else status
        outcome = say("told.work.marked", outcome=outcome, ended=ended)
    outcome = outcome or say(f"told.work.{status}" if status in _STATUSES else "told.not-recorded")
    reason = words_inside(procedure.get("statusReason"))
    return say("told.outcome.reason", outcome=outcome, reason=reason) if reason else outcome


def outcome_fits(procedure: Json) -> bool:
    """Whether status and outcome, where the table knows the outcome, say the same of how it ended."""
    wanted = _status_by_outcome().get(own_code(procedure.get("outcome")) or "")
    return wanted is None or wanted == procedure.get("status")


@cache
def _status_by_outcome() -> dict[str, str]:
    return {row["concept"]: row["status"] for row in load_csv(table_path("procedure-status.csv"))}


def procedure_details(procedure: Json) -> list[tuple[str, str]]:
    """What stands beside method and outcome: a name and the words."""
    why = [w for w in (words(c) for c in procedure.get("reasonCode", ())) if w]
    happened = [words(c) for c in procedure.get("complication", ())]
    return [
        *([(say("told.why-method"), "; ".join(why).rstrip("."))] if why else []),
        *([(say("told.events"), listed(happened))] if happened else []),
    ]


def communication_fact(communication: Json) -> str:
    """`keep the ear dry: to client, spoken and leaflet, understood`."""
    said = words(communication.get("topic")) or say("told.advice")
    if communication.get("status") == "not-done":
        said = say("told.advice.not-given", words=label(communication.get("topic")))
    how = [say("told.to", name=r["display"]) for r in communication.get("recipient", ()) if r.get("display")]
    how += [c.get("text", "") for c in communication.get("medium", ())]
    how += [label(c) for c in communication.get("category", ()) if not _code(c).startswith("advice-given")]
    how = [h for h in how if h and h != label(communication.get("topic"))]
    return (f"{said}: {', '.join(how)}" if how else said) + _notes(communication)


def care_plan_fact(plan: Json) -> str:
    told = []
    for activity in plan.get("activity", ()):
        detail = activity.get("detail", {})
        said = str(detail.get("description") or words(detail.get("code")))
        due = detail.get("scheduledPeriod", {}).get("start")
        said += f", {say('told.due', day=day(due))}" if due else ""
        reasons = [r["text"] for r in detail.get("reasonCode", ()) if r.get("text")]
        said += "".join(f", {say('told.reason', reason=reason)}" for reason in reasons)
        told.append(said.rstrip("."))
    return "; ".join(told) or str(plan.get("description") or plan.get("title") or say("told.plan.nameless"))


def service_request_fact(request: Json) -> str:
    """`Please look at the ear. Urgent. By 3 June 2026. Why: …`, or a referral."""
    if is_referral(request):
        return referral_fact(request).rstrip(".")
    said = " ".join(sentence(said) for said in (words(request.get("code")), *request_details(request)))
    return said.rstrip(".") or said


def request_details(request: Json) -> list[str]:
    """How fast, by when and why."""
    priority, due = request.get("priority", "routine"), request.get("occurrencePeriod", {}).get("end")
    found = priority_words(str(priority))
    found += [say("told.by", day=day(due))] if due else []
    found += [say("told.on", day=day(request["occurrenceDateTime"]))] if "occurrenceDateTime" in request else []
    return (
        found
        + [say("told.why", reason=r["text"]) for r in request.get("reasonCode", ()) if r.get("text")]
        + [n["text"] for n in request.get("note", ()) if n.get("text")]
    )


def _notes(resource: Json) -> str:
    notes = [n["text"].rstrip(".") for n in resource.get("note", ()) if n.get("text")]
    return f" ({'; '.join(notes)})" if notes else ""
