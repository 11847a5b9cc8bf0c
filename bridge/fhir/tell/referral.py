"""A referral that was made, in words: to whom, how fast, why, and whether the receiver knows of it.

Never the word for a side in these sentences of ours: a reader of sides would take it for an ear.
"""

from __future__ import annotations

from bridge.fhir.own import first_word, word
from bridge.fhir.tell.words import listed, moment, sentence, site_words, words
from bridge.referral_tables import called, rule_of, spoken, urgencies
from bridge.shapes import Json
from bridge.wording import say, translated

_SPEEDS = ("stat", "asap", "urgent", "routine")


def is_referral(request: Json) -> bool:
    """Whether a ServiceRequest is a referral of ours, not an ask of the family doctor."""
    return first_word("referral", request.get("category", ())) == "referral"


def referral_headline(request: Json) -> str:
    """`Referred to audiology, for the … ear. Routine.`: what a reader must know before anything else."""
    priority = str(request.get("priority", "routine"))
    sites = sites_of(request)
    to = say("told.referred.for", to=receiver(request), sites=sites) if sites else _to(request)
    told = priority == "stat" and call_recorded(request)
    fast = say("told.speed.stat.called") if told else _speed(priority)
    return f"{sentence(to)} {sentence(fast)}"


def referral_fact(request: Json) -> str:
    """`Referred to audiology. Routine. Why: … Question: … The receiver was told by phone, …`"""
    priority = str(request.get("priority", "routine"))
    told, no_call = how_told(request), no_call_told(request)
    said = [
        _to(request),
        speed(request) if priority == "stat" and call_recorded(request) else _speed(priority),
        deadline(request),
        no_call or (say("told.referral.how-told", told=told) if told else ""),
        *(say("told.referral.why", reason=r["text"]) for r in request.get("reasonCode", ()) if r.get("text")),
        *(say("told.referral.question", question=n["text"]) for n in request.get("note", ()) if n.get("text")),
        say("told.referral.rule", rule=followed) if (followed := rule_followed(request)) else "",
        say("told.referral.client", told=request["patientInstruction"]) if request.get("patientInstruction") else "",
    ]
    return " ".join(sentence(s) for s in said if s)


def _to(request: Json) -> str:
    return say("told.referred", to=receiver(request))


def _speed(priority: str) -> str:
    """`Routine.`, or that a letter alone is not enough."""
    return say("told.speed.stat.letter") if priority == "stat" else sentence(_speed_word(priority))


def _speed_word(priority: str) -> str:
    return say(f"told.speed.{priority}") if priority in _SPEEDS else priority


def receiver(request: Json) -> str:
    """The kind of service, and the one that is named."""
    named = next((str(p["display"]) for p in request.get("performer", ()) if p.get("display")), "")
    to = words(request.get("code"))
    return f"{to}: {named}" if named and named != to else to


def sites_of(request: Json) -> str:
    """`right ear`, `right ear and left ear`, or that it is about none."""
    return listed([words for words in map(site_words, request.get("bodySite", ())) if words])


def speed(request: Json) -> str:
    """`Immediate`."""
    return _speed_word(str(request.get("priority", "routine")))


def deadline(request: Json) -> str:
    """`To be seen by 4 November 2026, 10:15, that is within 24 hours of the visit`; empty where nothing sets one."""
    end = str(request.get("occurrencePeriod", {}).get("end", ""))
    within = _within(_details(request).get("within", ""))
    if not end:
        return say("told.seen.within", within=within) if within else ""
    when = moment(end)
    return say("told.seen.by.within", when=when, within=within) if within else say("told.seen.by", when=when)


def _within(told: str) -> str:
    """What an urgency means; the words are known again by the table that build takes them from."""
    urgency = next((u.urgency for u in urgencies().values() if u.words == told), None)
    return translated(f"urgency.{urgency}", told) if urgency and told else told


def rule_followed(request: Json) -> str:
    """The rule in the record's words; one known by its id is told in words too, with its source."""
    told = _details(request).get("rule", "")
    rule = rule_of(told)
    words = translated(f"rule.{rule.id}", rule.words) if rule else ""
    return f"{told}: {words} ({rule.source})" if rule else told


def how_told(request: Json) -> str:
    """`phone, 3 November 2026, 11:05; call taken by: …; agreed: …; receipt: …`

    Words that speak of a call which did not come about are quoted as such.
    """
    by = _details(request).get("told by", "")
    return _told(request, quoted=spoken(by) and not called(by))


def _told(request: Json, *, quoted: bool) -> str:
    details = _details(request)
    by, told_at = details.get("told by", ""), moment(details.get("told at", ""))
    about = [
        ", ".join(t for t in (say("told.call.quoted", words=by) if by and quoted else by, told_at) if t),
        say("told.call.taken", name=details["told to"]) if "told to" in details else "",
        say("told.call.agreed", words=details["agreed"]) if "agreed" in details else "",
        say("told.call.receipt", words=details["receipt"]) if "receipt" in details else "",
    ]
    return "; ".join(said.rstrip(".") for said in about if said)


def no_call_told(request: Json) -> str:
    """`No call is recorded (noted as “phone, no answer”)` of an immediate referral whose record tells of none; else
    empty."""
    if request.get("priority") != "stat" or call_recorded(request):
        return ""
    told = _told(request, quoted=True)
    said = say("told.call.no-time" if called(_details(request).get("told by", "")) else "told.call.none")
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
