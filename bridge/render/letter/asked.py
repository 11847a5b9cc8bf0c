"""The first box: what the reader is asked to do, and what the clinic has done or sent elsewhere itself."""

from __future__ import annotations

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.tell import ear, tell
from bridge.fhir.tell.clinical import request_details
from bridge.fhir.tell.referral import deadline, how_told, is_referral, no_call_told, referral_headline
from bridge.fhir.tell.task import task_action, task_details
from bridge.fhir.tell.words import sentence, words
from bridge.render.entries import Entries
from bridge.render.page import Block, Line, Lines, Pairs, Section, Step, Steps, Text
from bridge.render.referral import referrals
from bridge.render.sections import empty_code, section_of
from bridge.shapes import Json
from bridge.wording import say


def asked(entries: Entries) -> Section:
    """Of the family doctor, or of the one to whom the client is referred."""
    blocks = _of_the_receiver(entries) if entries.kind == "referral" else _of_the_doctor(entries)
    return Section("asked", say("asked.title"), blocks, frame="box")


def _of_the_receiver(entries: Entries) -> list[Block]:
    blocks: list[Block] = []
    for one in referrals(entries):
        blocks += [Text(one.headline, "strong"), Pairs(one.rows)]
    return [*(blocks or [Text(say("asked.no-referral"))]), Text(say("asked.caution"), "caution")]


def _of_the_doctor(entries: Entries) -> list[Block]:
    section = section_of(entries, "actions") or {}
    named = entries.all(section.get("entry", []))
    found = [r for r in named if not not_in_force(r)]
    blocks: list[Block] = [Steps([_step(r) for r in found])] if found else [_none(section, bool(named))]
    sent = [r for r in entries.of("ServiceRequest") if is_referral(r) and not not_in_force(r)]
    blocks += [Lines([Line(say("asked.sent"), _sent(r)) for r in sent])] if sent else []
    return blocks


def _none(section: Json, named: bool) -> Text:
    """The answer where nothing is asked: because the record says so, or because it says nothing."""
    if named:
        return Text(say("asked.none-in-force"))
    reason = empty_code(section)
    explained = sentence(str(section.get("emptyReason", {}).get("text", "")))
    if reason == "nilknown":
        return Text(f"{say('asked.none')} {explained}".rstrip(), "strong")
    if reason in ("", "unavailable"):
        return Text(explained or say("asked.not-recorded"))
    return Text(f"{say('asked.not-recorded')} {explained}".rstrip())


def _step(resource: Json) -> Step:
    if resource["resourceType"] not in ("ServiceRequest", "Task"):
        return Step(tell(resource))
    side = ear(resource)
    details = [sentence(say(f"group.{side}"))] if side else []
    if resource["resourceType"] == "Task":
        action, more = task_action(resource), task_details(resource)
        dated = bool(resource.get("restriction", {}).get("period", {}).get("end"))
    else:
        action, more = words(resource.get("code")), request_details(resource)
        dated = bool(resource.get("occurrencePeriod", {}).get("end") or resource.get("occurrenceDateTime"))
    dated = dated or resource.get("priority") == "stat"
    return Step(sentence(action), [*details, *map(sentence, more), *([] if dated else [say("asked.no-date")])])


def _sent(referral: Json) -> str:
    """To whom, how soon, by when, and when and how they were told."""
    none, told = no_call_told(referral), how_told(referral)
    said = [referral_headline(referral), deadline(referral), none or (told and say("asked.told", how=told))]
    return " ".join(sentence(part) for part in said if part)
