"""What was thought, done, advised, planned and asked, in words without ear and full stop."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.own import own_code
from bridge.fhir.tell.referral import is_referral, referral_fact
from bridge.fhir.tell.words import asserted, day, label, listed, sentence, words, words_inside
from bridge.nothing_words import says_nothing
from bridge.shapes import Json

_STATUS = {
    "completed": "done",
    "stopped": "stopped before it was finished",
    "not-done": "not done",
    "unknown": "how it ended is not recorded",
}
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
        said = f"{words(concept)}, resolved" + (f" on {day(over)}" if over else "")
    elif clinical == "inactive":
        said = asserted("past", concept)
    else:
        said = words(concept)
    if condition.get("onsetDateTime"):
        said += f", since {day(condition['onsetDateTime'])}"
    if "problem-list-item" in {_code(c) for c in condition.get("category", ())}:
        said += ", a standing problem"
    return said + _notes(condition)


def procedure_fact(procedure: Json) -> str:
    """`microsuction, outcome: complete; why this method: …; used: fine end`."""
    said = f"{words(procedure.get('code'))}, outcome: {procedure_outcome(procedure)}"
    said = f"nothing was done (noted as “{words(procedure.get('code'))}”)" if nothing_done(procedure) else said
    said += "".join(f"; {name}: {words}" for name, words in procedure_details(procedure))
    used = [words(c) for c in procedure.get("usedCode", ())]
    return said + (f"; used: {listed(used)}" if used else "") + _notes(procedure)


def nothing_done(procedure: Json) -> bool:
    """Whether the method itself says that there was none, and no outcome says otherwise."""
    return "outcome" not in procedure and says_nothing("method", str(procedure.get("code", {}).get("text", "")))


def procedure_outcome(procedure: Json) -> str:
    """How it ended, in the record's word or else by its status, with the reason."""
    outcome, status = words(procedure.get("outcome")), str(procedure.get("status", ""))
    if outcome and not outcome_fits(procedure):
        outcome += f" (but the entry is marked as {_STATUS.get(status, status)})"
    outcome = outcome or _STATUS.get(status, "not recorded")
    reason = words_inside(procedure.get("statusReason"))
    return f"{outcome} (reason: {reason})" if reason else outcome


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
        *([("why this method", "; ".join(why).rstrip("."))] if why else []),
        *([("events", listed(happened))] if happened else []),
    ]


def communication_fact(communication: Json) -> str:
    """`keep the ear dry: to client, spoken and leaflet, understood`."""
    said = words(communication.get("topic")) or "advice given"
    if communication.get("status") == "not-done":
        said = f"advice not given (noted as “{label(communication.get('topic'))}”)"
    how = [f"to {r['display']}" for r in communication.get("recipient", ()) if r.get("display")]
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
        said += f", due {day(due)}" if due else ""
        said += "".join(f", reason: {r['text']}" for r in detail.get("reasonCode", ()) if r.get("text"))
        told.append(said.rstrip("."))
    return "; ".join(told) or str(plan.get("description") or plan.get("title") or "plan without words")


def service_request_fact(request: Json) -> str:
    """`Please look at the ear. Urgent. By 3 June 2026. Why: …`, or a referral."""
    if is_referral(request):
        return referral_fact(request).rstrip(".")
    said = " ".join(sentence(said) for said in (words(request.get("code")), *request_details(request)))
    return said.rstrip(".") or said


def request_details(request: Json) -> list[str]:
    """How fast, by when and why."""
    priority, due = request.get("priority", "routine"), request.get("occurrencePeriod", {}).get("end")
    found = [] if priority == "routine" else ["immediately" if priority == "stat" else str(priority)]
    found += [f"by {day(due)}"] if due else []
    found += [f"on {day(request['occurrenceDateTime'])}"] if "occurrenceDateTime" in request else []
    return (
        found
        + [f"why: {r['text']}" for r in request.get("reasonCode", ()) if r.get("text")]
        + [n["text"] for n in request.get("note", ()) if n.get("text")]
    )


def _notes(resource: Json) -> str:
    notes = [n["text"].rstrip(".") for n in resource.get("note", ()) if n.get("text")]
    return f" ({'; '.join(notes)})" if notes else ""
