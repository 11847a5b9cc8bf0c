"""In brief: one to four sentences that say what was found, what was done, what is left and what stays uncertain.

Made from coded data only. What is alike for both ears is said once. Not seen, not examined, normal and not recorded
keep their own words, and a suspicion stays one.
"""

from __future__ import annotations

from bridge.ear_words import EARS
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import word
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.tell.words import sentence
from bridge.render.entries import Entries
from bridge.render.head import encounter
from bridge.render.letter.brief.cautions import cautions
from bridge.render.letter.brief.clauses import both_ears
from bridge.render.letter.brief.done import afterwards, done
from bridge.render.letter.brief.facts import EarFacts
from bridge.render.letter.brief.found import found
from bridge.render.letter.brief.last_seen import last_seen
from bridge.render.page import Section, Text
from bridge.wording import say

_AWAY = ("did not attend", "left before examination")
_REFUSED = {"rejected": "refused", "inactive": "withdrawn"}


def brief(entries: Entries) -> list[Section]:
    """One section, or none where there is nothing to say."""
    told = [*_visit(entries), *_ears(entries), sentence("; ".join(cautions(entries)))]
    told = [words for words in told if words]
    return [Section("brief", say("brief.title"), [Text(" ".join(told))])] if told else []


def _visit(entries: Entries) -> list[str]:
    """That the client was not seen, or did not agree to it."""
    away = [word("attendance", t) for t in encounter(entries).get("type", ())]
    said = [say(f"brief.{found.replace(' ', '-')}") for found in away if found in _AWAY]
    refused = [
        c for c in entries.of("Consent") if c.get("status") in _REFUSED and word("treatment", c.get("policyRule"))
    ]
    return said + [say(f"brief.consent.{_REFUSED[c['status']]}") for c in refused]


def _ears(entries: Entries) -> list[str]:
    in_force = {side: [r for r in entries.by_ear[side] if not not_in_force(r)] for side in EARS}
    right, left = (EarFacts.of(side, facts, entries) for side, facts in in_force.items())
    if right.empty and left.empty:
        notes = any(kind_of(r) in ("visit-note", "ear-note") for r in entries.of("Observation") if not not_in_force(r))
        return [say("brief.own-words")] if notes else [] if _visit(entries) else [say("brief.nothing")]
    parts = [both_ears(found(right), found(left)), _work(right, left), *last_seen(right, left)]
    return [sentence("; ".join(clauses)) for clauses in parts if clauses]


def _work(right: EarFacts, left: EarFacts) -> list[str]:
    """The work and how it ended; one ear after the other where both differ from beginning to end."""
    work, after = (done(right), done(left)), (afterwards(right), afterwards(left))
    if not (right.work or left.work) and (right.looks or left.looks):
        return [say("brief.no-work.other"), *both_ears(*after)]
    if work[0] == work[1] or after[0] == after[1]:
        return both_ears(*work) + both_ears(*after)
    return both_ears(work[0] + after[0], work[1] + after[1])
