"""The referral as its receiver meets it first: to whom, how soon, the question, why, and what they know already."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.tell.referral import (
    about_no_ear,
    deadline,
    how_told,
    is_referral,
    no_call_told,
    rule_followed,
    sites_of,
    speed,
)
from bridge.fhir.tell.words import address, sentence, upper_first, words
from bridge.render.entries import Entries
from bridge.shapes import Json
from bridge.wording import say


@dataclass(slots=True)
class Referred:
    """One referral: how soon, in one line, and what is asked, label by label."""

    headline: str
    rows: list[tuple[str, str]]


def referrals(entries: Entries) -> list[Referred]:
    return [_referred(request) for request in requests(entries)]


def requests(entries: Entries) -> list[Json]:
    return [r for r in entries.of("ServiceRequest") if is_referral(r)]


def _referred(request: Json) -> Referred:
    marked, soon = not_in_force(request), deadline(request)
    headline = sentence(f"{marked}: {speed(request)}" if marked else speed(request))
    asked = [str(n["text"]) for n in request.get("note", ()) if n.get("text")]
    why = [str(r["text"]) for r in request.get("reasonCode", ()) if r.get("text")]
    told = how_told(request)
    rows = [
        ("question", "\n".join(map(sentence, asked))),
        ("why", "\n".join(map(sentence, why))),
        ("about", _about(request)),
        ("rule", sentence(rule_followed(request))),
        ("receiver-told", sentence(no_call_told(request) or told)),
        ("client-told", sentence(str(request.get("patientInstruction") or ""))),
    ]
    named = [(say(f"referral.{key}"), value or say("empty.unavailable")) for key, value in rows]
    return Referred(f"{headline} {sentence(soon)}".strip(), named)


def _about(request: Json) -> str:
    if about_no_ear(request):
        return say("referral.no-ear")
    return sentence(sites_of(request))


def _immediate(request: Json) -> bool:
    return request.get("priority") == "stat"


def urgent_marks(entries: Entries) -> Iterator[str]:
    """What must be read before anything else of a referral that cannot wait for the post."""
    for request in requests(entries):
        if _immediate(request) and not not_in_force(request):
            none = no_call_told(request)
            call = sentence(none) if none else say("asked.told", how=sentence(how_told(request)))
            yield f"{say('mark.immediate')} {call}"


def receiver_lines(entries: Entries) -> list[str]:
    """The head's “To”: the service named with its address, and the kind of service."""
    found: list[str] = []
    for request in requests(entries):
        for service in entries.all(request.get("performer", [])):
            people = [str(c["name"].get("text", "")) for c in service.get("contact", ()) if c.get("name")]
            found += [*people, str(service.get("name", "")), *map(address, service.get("address", ()))]
            points = [p for p in service.get("telecom", ()) if p.get("value")]
            found += [
                say("head.phone", number=p["value"]) if p.get("system") == "phone" else str(p["value"]) for p in points
            ]
        to = upper_first(words(request.get("code")))
        found += [to] if to.casefold() not in {line.casefold() for line in found} else []
    return [line for line in found if line] or [say("head.no-receiver")]
