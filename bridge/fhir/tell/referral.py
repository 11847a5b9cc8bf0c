"""A referral that was made, in words: to whom, how fast, why, and whether the receiver knows of it.

Never the word for a side in these sentences of ours: a reader of sides would take it for an ear.
"""

from __future__ import annotations

from bridge.fhir.own import first_word, word
from bridge.fhir.tell.words import listed, moment, sentence, words
from bridge.referral_tables import called, rule_of, spoken
from bridge.shapes import Json

_SPEED = {
    "stat": "Immediate. A letter alone is not enough for this; the receiver should be called.",
    "asap": "As soon as possible.",
    "urgent": "Urgent.",
    "routine": "Routine.",
}
_SPEED_WORD = {"stat": "Immediate", "asap": "As soon as possible", "urgent": "Urgent", "routine": "Routine"}


def is_referral(request: Json) -> bool:
    """Whether a ServiceRequest is a referral of ours, not an ask of the family doctor."""
    return first_word("referral", request.get("category", ())) == "referral"


def referral_headline(request: Json) -> str:
    """`Referred to audiology, for the … ear. Routine.`: what a reader must know before anything else."""
    priority = str(request.get("priority", "routine"))
    sites = sites_of(request)
    to = f"Referred to {receiver(request)}" + (f", for the {sites}" if sites else "")
    told = priority == "stat" and call_recorded(request)
    fast = "Immediate. The receiver was called" if told else _SPEED.get(priority, priority)
    return f"{sentence(to)} {sentence(fast)}"


def referral_fact(request: Json) -> str:
    """`Referred to audiology. Routine. Why: … Question: … The receiver was told by phone, …`"""
    priority = str(request.get("priority", "routine"))
    told, no_call = how_told(request), no_call_told(request)
    said = [
        f"Referred to {receiver(request)}",
        "Immediate" if priority == "stat" and call_recorded(request) else _SPEED.get(priority, priority),
        deadline(request),
        no_call or (f"How the receiver was told: {told}" if told else ""),
        *(f"Why: {r['text']}" for r in request.get("reasonCode", ()) if r.get("text")),
        *(f"Question: {n['text']}" for n in request.get("note", ()) if n.get("text")),
        f"Rule it follows: {followed}" if (followed := rule_followed(request)) else "",
        f"What the client was told: {request['patientInstruction']}" if request.get("patientInstruction") else "",
    ]
    return " ".join(sentence(s) for s in said if s)


def receiver(request: Json) -> str:
    """The kind of service, and the one that is named."""
    named = next((str(p["display"]) for p in request.get("performer", ()) if p.get("display")), "")
    to = words(request.get("code"))
    return f"{to}: {named}" if named and named != to else to


def sites_of(request: Json) -> str:
    """`right ear`, `right ear and left ear`, or that it is about none."""
    return listed([str(s.get("text", "")) for s in request.get("bodySite", ()) if s.get("text")])


def speed(request: Json) -> str:
    """`Immediate`."""
    priority = str(request.get("priority", "routine"))
    return _SPEED_WORD.get(priority, priority)


def deadline(request: Json) -> str:
    """`To be seen by 4 November 2026, 10:15, that is within 24 hours of the visit`; empty where nothing sets one."""
    end = str(request.get("occurrencePeriod", {}).get("end", ""))
    within = _details(request).get("within", "")
    if not end:
        return f"To be seen {within} of the visit" if within else ""
    return f"To be seen by {moment(end)}" + (f", that is {within} of the visit" if within else "")


def rule_followed(request: Json) -> str:
    """The rule in the record's words; one known by its id is told in words too, with its source."""
    told = _details(request).get("rule", "")
    rule = rule_of(told)
    return f"{told}: {rule.words} ({rule.source})" if rule else told


def how_told(request: Json) -> str:
    """`phone, 3 November 2026, 11:05; call taken by: …; agreed: …; receipt: …`

    Words that speak of a call which did not come about are quoted as such.
    """
    by = _details(request).get("told by", "")
    return _told(request, quoted=spoken(by) and not called(by))


def _told(request: Json, *, quoted: bool) -> str:
    details = _details(request)
    by = details.get("told by", "")
    about = [
        ", ".join(t for t in (f"noted as “{by}”" if by and quoted else by, moment(details.get("told at", ""))) if t),
        f"taken by {details['told to']}" if "told to" in details else "",
        f"agreed: {details['agreed']}" if "agreed" in details else "",
        f"receipt: {details['receipt']}" if "receipt" in details else "",
    ]
    return "; ".join(said.rstrip(".") for said in about if said)


def no_call_told(request: Json) -> str:
    """`No call is recorded (noted as “phone, no answer”)` of an immediate referral whose record tells of none; else
    empty."""
    if request.get("priority") != "stat" or call_recorded(request):
        return ""
    told = _told(request, quoted=True)
    said = "No call is recorded" + (" with its time" if called(_details(request).get("told by", "")) else "")
    return f"{said} ({told})" if told else said


def call_recorded(request: Json) -> bool:
    """Whether the record says that the receiver was told by voice, and when."""
    details = _details(request)
    return called(details.get("told by", "")) and "told at" in details


def about_no_ear(request: Json) -> bool:
    """Whether the record says that the matter is not one of an ear."""
    return "neither" in _details(request)


def _details(request: Json) -> dict[str, str]:
    found = ((word("referral", d), str(d.get("text", ""))) for d in request.get("orderDetail", ()))
    return {kind: text for kind, text in found if kind}
