"""What changed since the version that a letter replaces, in words: what it no longer says, and what it says now.

Two versions are compared as built and told, so that whatever a letter can say is compared, and nothing else is: both
have been through the same recipient's cut. What was said of somebody else by mistake is never repeated.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from bridge.build.context import Built, Context, Json
from bridge.fhir.ids import client_key
from bridge.fhir.plain import plain_line
from bridge.fhir.tell import tell
from bridge.fhir.tell.words import sentence
from bridge.visit import Visit
from bridge.wording import language, say

_AROUND = ("composition", "provenance", "device")
"""Topics that the letter's head tells, or that are not about the client at all."""
_MOMENTS = (
    "effectiveDateTime", "effectivePeriod", "recordedDate", "authoredOn", "sent", "performedPeriod", "period",
    "dateTime", "createdDateTime", "issued", "recordedOn", "dateAsserted", "abatementDateTime", "occurrencePeriod",
    "date",
)  # fmt: skip
"""Elements that follow from when the visit was and when it was recorded, which is told as such."""
_NOT_FACTS = ("id", "text", "meta", "language", "fullUrl", "reference")
_PEOPLE = ("Patient", "RelatedPerson", "Practitioner", "PractitionerRole", "Organization")
"""Types whose identifiers are facts; those of others only number them."""


class Said(NamedTuple):
    """One thing that a version says."""

    id: str
    line: str
    core: str
    """What else is known of it, to compare."""


def changes(
    context: Context, answers: list[str], earlier: Context | None, earlier_answers: list[str], *, plainly: bool = False
) -> list[str]:
    """The lines of a correction's section; none for a letter that replaces nothing.

    `earlier` is the replaced version as built for the same reader, None where it is not known; `answers` are what each
    says under headings without facts. `plainly`: for the client, in words without terms of the trade.
    """
    replaced = context.visit.replaces
    if replaced is None:
        return []
    if earlier is None:
        return [say("copy.changes.unknown" if plainly else "changes.unknown", version=replaced)]
    if not same_client(context.visit, earlier.visit):
        return [say("copy.changes.client" if plainly else "changes.client", version=replaced)]
    before, now = _all(earlier, earlier_answers, plainly), _all(context, answers, plainly)
    found = [*_compared(before, now, plainly)]
    return found or [say("copy.changes.nothing" if plainly else "changes.nothing", version=replaced)]


def same_client(one: Visit, other: Visit) -> bool:
    """Whether two versions are surely of one person: what was said of another may not be told again."""
    born = {v.client.birth_date for v in (one, other)} - {None}
    return client_key(one.client) == client_key(other.client) and len(born) < 2


def _all(context: Context, answers: list[str], plainly: bool) -> list[Said]:
    decided = [] if plainly else _decided(context.visit)
    return [*_facts(context, plainly), *(Said("", line, "") for line in answers), *decided]


def _facts(context: Context, plainly: bool) -> Iterator[Said]:
    for built in context.built:
        resource = built.resource
        if built.topic not in _AROUND:
            line = plain_line(resource) if plainly else _named(built, tell(resource))
            yield Said(built.id, line, _core(resource, resource["resourceType"] in _PEOPLE))


def _named(built: Built, line: str) -> str:
    key = f"changes.about.{built.topic}"
    return say(key, said=line) if key in language().words else line


def _decided(visit: Visit) -> list[Said]:
    """Why nobody was asked to see the client, which only the record's Provenance tells."""
    if visit.not_referred is None:
        return []
    flags = ", ".join(visit.not_referred.rules)
    line = say("changes.not-referred", reason=sentence(visit.not_referred.reason))
    return [Said("not-referred", line, flags)]


def _compared(before: list[Said], now: list[Said], plainly: bool) -> Iterator[str]:
    """The lines in order; words that two facts share (a drum not seen, and why) stand once."""
    gone = [s for s in _rest(before, Counter(s.line for s in now)) if s.line]
    new = [s for s in _rest(now, Counter(s.line for s in before)) if s.line]
    added = {s.id: s for s in new if s.id}
    beside = {s.line for s in gone if s.id in added}
    paired: set[str] = set()
    alone: set[str] = set()
    for said in gone:
        other = added.get(said.id)
        if other is not None and said.id not in paired:
            paired.add(said.id)
            changed = "copy.changes.changed" if plainly else "changes.changed"
            yield say(changed, before=said.line, now=other.line)
        elif said.line not in beside | alone:
            alone.add(said.line)
            yield say("copy.changes.gone" if plainly else "changes.gone", said=said.line)
    told = {added[id].line for id in paired}
    for said in new:
        if (said.id not in paired or added[said.id] is not said) and said.line not in told:
            told.add(said.line)
            yield say("copy.changes.new" if plainly else "changes.new", said=said.line)
    details = [*_in_details(before, now)]
    if plainly:
        yield from [say("copy.changes.rest")] if details else []
    else:
        yield from (say("changes.detail", said=line) for line in details)


def _rest(said: list[Said], known: Counter[str]) -> list[Said]:
    """What is said more often than the other version says it, in order."""
    left = Counter(known)
    found = []
    for one in said:
        if left[one.line]:
            left[one.line] -= 1
        else:
            found.append(one)
    return found


def _in_details(before: list[Said], now: list[Said]) -> Iterator[str]:
    """What both say in the same words, or in none, although something in it differs: a phone number, a code."""
    cores: dict[str, tuple[Counter[str], Counter[str]]] = {}
    for version, said in enumerate((before, now)):
        for one in said:
            cores.setdefault(one.line, (Counter(), Counter()))[version][one.core] += 1
    for line, (old, new) in cores.items():
        if old != new and (old.total() == new.total() or not line):
            yield line


def _core(resource: Json, numbered: bool) -> str:
    return json.dumps(_facts_of(resource, numbered), sort_keys=True, default=str)


def _facts_of(value: object, numbered: bool) -> object:
    if isinstance(value, dict):
        left_out = (*_NOT_FACTS, *_MOMENTS, *(() if numbered else ("identifier",)))
        kept = {k: _facts_of(v, numbered) for k, v in value.items() if k not in left_out}
        return {k: v for k, v in kept.items() if v not in ({}, [])}
    if isinstance(value, list | tuple):
        return [found for v in value if (found := _facts_of(v, numbered)) not in ({}, [])]
    return value
