"""A section of the summary: its facts under the visits that tell them, newest first; or why there are none."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from bridge.build.context import Json
from bridge.build.ips.answers import LISTS, Answer, answers, newest
from bridge.build.ips.gather import Told
from bridge.build.ips.headings import heading_topic
from bridge.build.ips.plan import Heading
from bridge.build.narrative import generated, told_by_ear
from bridge.fhir.ids import reference
from bridge.fhir.own import coding
from bridge.fhir.tell.words import day, listed
from bridge.visit import Visit
from bridge.wording import say, say_number


def section(heading: Heading, told: Sequence[Told], visits: Sequence[Visit]) -> Json | None:
    """The section; None for one without facts that the guide does not demand. Visits oldest first."""
    facts = [t for topic in heading.topics for t in told if heading_topic(t.built) == topic]
    entries = [reference(t.built.id) for t in facts if t.entry]
    if not facts and not heading.needed:
        return None
    codes = {"coding": [coding(code) for code in heading.codes]} if heading.codes else {}
    said = answers(heading.key, visits)
    lines = _answer_lines(heading, said, facts)
    body = {
        "title": heading.title,
        "code": {**codes, "text": heading.title},
        "text": generated("".join(f"<p>{escape(line)}</p>" for line in lines) + _by_visit(facts, visits)),
    }
    if entries:
        return {**body, "entry": entries}
    reason = _empty(heading, newest(said)).get("reason", "unavailable")
    text = " ".join(lines) or say("record.told-above")
    return {**body, "emptyReason": {"coding": [coding(f"list-empty-reason:{reason}")], "text": text}}


def _empty(heading: Heading, answer: Answer | None) -> dict[str, str]:
    if answer is None or answer.said == "named":
        return heading.empty
    return heading.asked if answer.said == "not asked" else heading.none


def _answer_lines(heading: Heading, said: Sequence[Answer], facts: Sequence[Told]) -> list[str]:
    """What each visit answered, newest first; what is named stands below, so it needs a line only beside a "none"."""
    if heading.key not in LISTS:
        return [] if facts else [heading.empty["text"]]
    if not said:
        nothing = heading.empty["text"]
        return [say("record.asked-unknown", nothing=nothing) if facts else nothing]
    lines = []
    for answer in reversed(said):
        if answer.said == "named":
            lines.append(say("record.listed-below", visits=_visits_of([answer.visit])))
        else:
            said_then = _empty(heading, answer)["text"]
            lines.append(say("record.visit-says", visits=_visits_of([answer.visit]), said=said_then))
    return lines if any(a.said != "named" for a in said) else []


def _by_visit(facts: Sequence[Told], visits: Sequence[Visit]) -> str:
    """Facts that the same visits tell stand together, those told last first."""
    order = {visit.number: place for place, visit in enumerate(visits)}
    groups: dict[tuple[int, ...], list[Told]] = {}
    for one in facts:
        groups.setdefault(tuple(sorted({order[v.number] for v in one.visits}, reverse=True)), []).append(one)
    parts = []
    for places in sorted(groups, reverse=True):
        told = [visits[place] for place in reversed(places)]
        parts.append(f"<p><b>{escape(_visits_of(told))}</b></p>")
        parts.append(told_by_ear([one.built for one in groups[places]]))
    return "".join(parts)


def _visits_of(visits: Sequence[Visit]) -> str:
    """`Visit of 3 May 2026 (M26-0110, not approved yet)`; several are listed, oldest first."""
    named = [
        say("record.visit" if v.approved else "record.visit.draft", day=day(v.start), number=v.number) for v in visits
    ]
    return say_number("record.visits", len(named), listed=listed(named))
