"""Sentences for what was thought, done, advised, planned and asked."""

from __future__ import annotations

from typing import Any

from bridge.fhir.tell.words import day, label, upper_first, words

Json = dict[str, Any]

_STATUS = {
    "completed": "done",
    "stopped": "stopped before it was finished",
    "not-done": "not done",
    "unknown": "how it ended is not recorded",
}


def _code(concept: Json | None) -> str:
    return str(next((c.get("code") for c in (concept or {}).get("coding", ())), ""))


def tell_condition(condition: Json) -> str:
    site = ", ".join(s.get("text", "") for s in condition.get("bodySite", ()))
    verification = _code(condition.get("verificationStatus"))
    clinical = _code(condition.get("clinicalStatus"))
    name = words(condition.get("code"))
    if verification == "refuted":
        said = f"no {name}"
    elif verification in ("provisional", "unconfirmed", "differential"):
        said = f"{name} suspected, not confirmed"
    elif clinical == "resolved":
        said = f"{name}, resolved on {day(condition['abatementDateTime'])}" if "abatementDateTime" in condition else name
    elif clinical == "inactive":
        said = f"{name} in the past"
    else:
        said = name
    onset = f", since {day(condition['onsetDateTime'])}" if "onsetDateTime" in condition else ""
    return upper_first(f"{site}: {said}{onset}" if site else f"{said}{onset}") + _note(condition) + "."


def tell_procedure(procedure: Json) -> str:
    site = ", ".join(s.get("text", "") for s in procedure.get("bodySite", ()))
    outcome = words(procedure.get("outcome")) or _STATUS.get(procedure.get("status", ""), "")
    said = f"{words(procedure.get('code'))}, outcome: {outcome}"
    if procedure.get("statusReason"):
        said += f", reason: {words(procedure['statusReason'])}"
    if procedure.get("complication"):
        said += "; " + ", ".join(words(c) for c in procedure["complication"])
    if procedure.get("usedCode"):
        said += "; used: " + ", ".join(words(c) for c in procedure["usedCode"])
    return upper_first(f"{site}: {said}" if site else said) + _note(procedure) + "."


def tell_communication(communication: Json) -> str:
    said = [upper_first(words(communication.get("topic")) or "advice given")]
    said += [label(c) for c in communication.get("category", ()) if not _code(c).startswith("advice-given")]
    said += [c.get("text", "") for c in communication.get("medium", ())]
    to = [f"to {n['text']}" for n in communication.get("note", ())]
    return ", ".join([*said, *to]) + "."


def tell_care_plan(plan: Json) -> str:
    told = []
    for activity in plan.get("activity", ()):
        detail = activity.get("detail", {})
        said = str(detail.get("description", ""))
        due = detail.get("scheduledPeriod", {}).get("start")
        said += f", due {day(due)}" if due else ""
        said += "".join(f" ({r['text']})" for r in detail.get("reasonCode", ()) if r.get("text"))
        told.append(said)
    return "; ".join(told) + "."


def tell_service_request(request: Json) -> str:
    said = words(request.get("code"))
    sites = [s.get("text", "") for s in request.get("bodySite", ())]
    said += f" ({', '.join(sites)})" if sites else ""
    due = request.get("occurrencePeriod", {}).get("end")
    said += f", by {day(due)}" if due else ""
    said += "".join(f". Why: {r['text']}" for r in request.get("reasonCode", ()) if r.get("text"))
    return said.rstrip(".") + "."


def _note(resource: Json) -> str:
    notes = [n["text"] for n in resource.get("note", ()) if n.get("text")]
    return f" ({'; '.join(notes)})" if notes else ""
