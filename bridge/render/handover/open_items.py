"""What is open: referrals, asks of the family doctor, recalls, red flags, and what the last look at each ear left.

A record cannot know that something was closed elsewhere, so nothing is taken off here: the reader asks.
"""

from __future__ import annotations

from bridge.ear_words import EARS, STAGES, Ear
from bridge.fhir.tell.by_ear import by_ear
from bridge.fhir.tell.words import day
from bridge.render.handover.terms import said_of
from bridge.render.handover.told import VisitTold
from bridge.render.page import Block, Line, Lines, Section, Text
from bridge.render.sections import section_of
from bridge.visit.ear import Examination, Part
from bridge.wording import say

PARTS = ("outer_ear", "canal", "contents", "drum", "mastoid_cavity")
NO_WAX = ("wax-none",)


def open_items(visits: list[VisitTold]) -> Section:
    blocks: list[Block] = [Text(say("handover.open.note"), "caution")]
    blocks += [Lines(_of_section(visits, "referral") or _none("referral"), say("handover.open.referral"))]
    if any(told.visit.referral for told in visits):
        blocks.append(Text(say("handover.open.replies"), "quiet"))
    blocks += [Lines(_of_section(visits, "actions") or _none("actions"), say("handover.open.actions"))]
    planned = [told for told in visits if told.visit.follow_up]
    blocks += [Lines(_recalls(planned[-1:]) or _none("recalls"), say("handover.open.recalls"))]
    flags = [Line(told.visit.number, alert.words) for told in visits for alert in told.alerts]
    blocks += [Lines(flags, say("handover.open.flags"))] if flags else []
    blocks += [Lines(_left(visits, ear), say(f"handover.open.{ear}")) for ear in EARS]
    thought = _impressions(visits)
    blocks += [Lines(thought, say("handover.open.impressions"))] if thought else []
    return Section("open", say("handover.open.title"), blocks)


def _none(key: str) -> list[Line]:
    return [Line("", say(f"handover.open.{key}.none"))]


def _title(told: VisitTold) -> str:
    return say("handover.visit.short", day=day(told.visit.start), visit=told.visit.number)


def _of_section(visits: list[VisitTold], key: str) -> list[Line]:
    """What each visit's document says under a heading, newest first."""
    found = []
    for told in reversed(visits):
        section = section_of(told.entries, key) or {}
        for group in by_ear(told.entries.all(section.get("entry", []))):
            said = [f"{line.subject}: {line.words}" if line.subject else line.words for line in group.lines]
            ear = f"{group.title}: " if group.title else ""
            found += [Line(_title(told), ear + " ".join(said))]
    return found


def _recalls(planned: list[VisitTold]) -> list[Line]:
    found = []
    for told in planned:
        plan = told.visit.follow_up
        assert plan is not None
        due = say("handover.open.due", day=day(plan.due)) if plan.due else say("handover.open.no-day")
        found.append(Line(_title(told), " ".join(filter(None, (plan.plan, due, plan.reason)))))
    return found


def _left(visits: list[VisitTold], ear: Ear) -> list[Line]:
    """What the last look found and nothing denied; that it found nothing; that there was none."""
    for told in reversed(visits):
        record = told.visit.ear(ear)
        for when in reversed(STAGES):
            look: Examination | None = getattr(record, when) if record else None
            if look is not None:
                said = [*_findings(look), *_wax(look)]
                nothing = say("handover.open.nothing") if _looked(look) else say("handover.open.unlooked")
                return [Line(_title(told), "; ".join(said) or nothing)]
    return [Line("", say("handover.open.no-look"))]


def _looked(look: Examination) -> bool:
    """Whether anything of it was seen."""
    view = look.view
    return not (view is not None and (view.answer == "not examined" or view.achieved == "none"))


def _findings(look: Examination) -> list[str]:
    found = []
    for name in PARTS:
        part: Part | None = getattr(look, name)
        for one in part.findings if part else ():
            assertion = one.term.assertion or "present"
            if assertion in ("present", "suspected"):
                doubt = f" [{say('handover.said.suspected')}]" if assertion == "suspected" else ""
                found.append(f"{say(f'handover.part.{name}')}: {said_of(one.term)}{doubt}")
    return found


def _wax(look: Examination) -> list[str]:
    wax = look.wax
    if wax is None or wax.answer or (wax.amount is None and not wax.percent):
        return []
    codes = {c.code for c in wax.amount.codings} if wax.amount else set()
    if codes & set(NO_WAX) or (wax.percent == 0 and wax.amount is None):
        return []
    share = f" ({wax.percent}%)" if wax.percent else ""
    return [f"{say('handover.part.wax')}: {said_of(wax.amount) if wax.amount else ''}{share}"]


def _impressions(visits: list[VisitTold]) -> list[Line]:
    """Those of the newest visit, and standing ones of any."""
    found: dict[tuple[str, str], Line] = {}
    for told in reversed(visits):
        for ear in EARS:
            for title, words in _of_ear(told, told is visits[-1], ear):
                found.setdefault((ear, words), Line(title, words))
    return list(found.values())


def _of_ear(told: VisitTold, newest: bool, ear: Ear) -> list[tuple[str, str]]:
    record = told.visit.ear(ear)
    found = []
    for one in record.impressions if record else ():
        assertion = one.term.assertion or "present"
        if (newest or one.standing) and assertion in ("present", "suspected"):
            said = say(f"handover.said.{assertion}")
            found.append((f"{say(f'group.{ear}')}, {_title(told)}", f"{said_of(one.term)} [{said}]"))
    return found
