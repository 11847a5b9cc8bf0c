"""What is open: referrals, asks of the family doctor, recalls, red flags, and what the last look at each ear left.

A record cannot know that something was closed elsewhere, so nothing is taken off here: the reader asks.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.ear_words import EARS, STAGES, Ear
from bridge.fhir.tell.by_ear import by_ear, lines, pair, stage
from bridge.fhir.tell.words import day, sentence
from bridge.render.ears import of_examination
from bridge.render.handover.terms import said_of
from bridge.render.handover.told import VisitTold
from bridge.render.page import Block, Line, Lines, Section, Text
from bridge.render.sections import section_of
from bridge.visit.ear import Impression
from bridge.wording import say


def open_items(visits: list[VisitTold]) -> Section:
    referrals, planned = _of_section(visits, "referral"), [told for told in visits if told.visit.follow_up]
    flags = [Line(told.visit.number, alert.words) for told in visits for alert in told.alerts]
    thought, settled = _impressions(visits)
    replies = Line("", say("handover.open.replies"))
    found = [
        ("referral", [*referrals, replies] if referrals else _none("referral")),
        ("actions", _of_section(visits, "actions") or _nothing_asked(visits)),
        ("recalls", _recalls(planned[-1:]) or _none("recalls")),
        *([("flags", flags)] if flags else []),
        *((ear, _left(visits, ear)) for ear in EARS),
        *([("impressions", thought)] if thought else []),
        *([("settled", settled)] if settled else []),
    ]
    blocks: list[Block] = [Text(say("handover.open.note"), "caution")]
    for key, told in found:
        blocks += [Text(say(f"handover.open.{key}"), "strong"), Lines(told)]
    return Section("open", say("handover.open.title"), blocks)


def _nothing_asked(visits: list[VisitTold]) -> list[Line]:
    """That nothing is asked, where the newest visit says so; silence is another answer."""
    return _none("actions.said" if visits[-1].visit.no_request else "actions")


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
        found.append(Line(_title(told), " ".join(sentence(words) for words in (plan.plan, due, plan.reason) if words)))
    return found


def _left(visits: list[VisitTold], ear: Ear) -> list[Line]:
    """What the last look at the ear says, in the document's words, or that there was none."""
    for told in reversed(visits):
        record = told.visit.ear(ear)
        for when in reversed(STAGES):
            if record and getattr(record, when) is not None:
                facts = [f for f in told.entries.by_ear[ear] if stage(f) == when and of_examination(f)]
                title = say(f"handover.open.look.{when}", visit=_title(told))
                return [Line("", title), *(Line(line.subject, line.words) for line in lines(map(pair, facts)))]
    return [Line("", say("handover.open.no-look"))]


def _impressions(visits: list[VisitTold]) -> tuple[list[Line], list[Line]]:
    """Those of the newest visit, and standing ones of any; apart from them those that the work of their visit ended."""
    found: dict[tuple[str, str], tuple[bool, Line]] = {}
    for told in reversed(visits):
        for ear in EARS:
            title = f"{say(f'group.{ear}')}, {_title(told)}"
            for one in _of_ear(told, told is visits[-1], ear):
                words, over = said_of(one.term), _is_over(told, ear, one.term.text)
                said = say(f"handover.said.{one.term.assertion or 'present'}")
                found.setdefault((ear, words), (over, Line(title, words if over else f"{words} [{said}]")))
    return [line for over, line in found.values() if not over], [line for over, line in found.values() if over]


def _of_ear(told: VisitTold, newest: bool, ear: Ear) -> Iterator[Impression]:
    record = told.visit.ear(ear)
    for one in record.impressions if record else ():
        if (newest or one.standing) and one.term.assertion in (None, "present", "suspected"):
            yield one


def _is_over(told: VisitTold, ear: Ear, words: str) -> bool:
    """Whether the document says that what was thought was resolved by the end of the visit."""
    return any(
        fact["resourceType"] == "Condition"
        and fact.get("code", {}).get("text") == words
        and any(c.get("code") == "resolved" for c in fact.get("clinicalStatus", {}).get("coding", ()))
        for fact in told.entries.by_ear[ear]
    )
