"""A referral that was made, in words: to whom, how fast, why, and whether the receiver knows of it."""

from __future__ import annotations

from typing import Any

from bridge.fhir.own import first_word, word
from bridge.fhir.tell.words import moment, sentence, words

Json = dict[str, Any]

_SPEED = {  # never the word for a side: a reader of sides would take it for an ear
    "stat": "Immediate. A letter alone is not enough for this; the receiver should be called.",
    "asap": "As soon as possible.",
    "urgent": "Urgent.",
    "routine": "Routine.",
}


def is_referral(request: Json) -> bool:
    """Whether a ServiceRequest is a referral of ours, not an ask of the family doctor."""
    return first_word("referral", request.get("category", ())) == "referral"


def referral_headline(request: Json) -> str:
    """`Referred to audiology, for the … ear. Routine.`: what a reader must know before anything else."""
    priority = str(request.get("priority", "routine"))
    sites = ", ".join(str(s.get("text", "")) for s in request.get("bodySite", ()))
    to = f"Referred to {words(request.get('code'))}" + (f", for the {sites}" if sites else "")
    return f"{sentence(to)} {sentence(_SPEED.get(priority, priority))}"


def referral_fact(request: Json) -> str:
    """`Referred to audiology. Routine. Why: … Question: … The receiver was told by phone, …`"""
    details = {word("referral", d): str(d.get("text", "")) for d in request.get("orderDetail", ())}
    priority = str(request.get("priority", "routine"))
    told = ", ".join(t for t in (details.get("told by"), moment(details.get("told at", ""))) if t)
    said = [
        f"Referred to {words(request.get('code'))}",
        _SPEED.get(priority, priority),
        f"How the receiver was told: {told}" if told else "",
        "How the receiver was told is not recorded" if priority == "stat" and not told else "",
        f"Receipt: {details['receipt']}" if "receipt" in details else "",
        *(f"Why: {r['text']}" for r in request.get("reasonCode", ()) if r.get("text")),
        *(f"Question: {n['text']}" for n in request.get("note", ()) if n.get("text")),
        f"Rule it follows: {details['rule']}" if "rule" in details else "",
        f"What the client was told: {request['patientInstruction']}" if request.get("patientInstruction") else "",
    ]
    return " ".join(sentence(s) for s in said if s)
