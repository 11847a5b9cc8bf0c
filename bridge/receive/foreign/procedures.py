"""Procedures of another system on an ear: work of the visit, or something from before."""

from __future__ import annotations

from bridge.ear_words import EARS, Ear
from bridge.receive.foreign.facts import Case, Fact, doubted, sided
from bridge.receive.foreign.moments import within
from bridge.receive.foreign.nodes import Node, Taking, valid
from bridge.receive.foreign.sides import Site, site_of
from bridge.receive.foreign.statements import doubt, doubt_around, standing
from bridge.receive.foreign.tables import sites
from bridge.visit.base import Term
from bridge.visit.ear import PastEvent, Work

STOPPED = "stopped"
"""Our word for the outcome of a Procedure whose state says so (event-status: stopped)."""


def read_procedure(node: Node, case: Case) -> list[Fact]:
    take = Taking()
    said = standing(node, take)
    if said not in ("stated", "stopped") or case.not_today.get(node.source.number) == "other":
        return []
    site = site_of(node, [node.at("code")], case.addresses, take)
    if not sided(node, site, case):
        return []
    if doubt(node.at("code"), "method") or doubt_around(node):
        doubted(node, case)
        return []
    when = within(node, "performed", case.encounter)
    if when == "before" or (case.past(node) and when == "untold"):
        return _earlier(node, said, site, take)
    if when not in ("in", "untold") or case.past(node):
        return []
    return _work(node, said, site, take, case)


def worked(node: Node, case: Case) -> frozenset[Ear]:
    """The ears that a procedure may have been done on at this visit; both where it may be one of either ear."""
    if node.text("status") in ("entered-in-error", "not-done") or within(node, "performed", case.encounter) == "before":
        return frozenset()
    site = site_of(node, [node.at("code")], case.addresses, Taking())
    if site.ears:
        return site.ears
    elsewhere = any(code not in sites() for place in node.each("bodySite") for code in place.codes())
    return frozenset() if elsewhere and not site.at_odds else frozenset(EARS)


def _earlier(node: Node, said: str, site: Site, take: Taking) -> list[Fact]:
    if said != "stated":
        return []
    term = take.term(node.at("code"), "past")
    date = take.when(node, "performedDateTime") or take.when(node.at("performedPeriod"), "start")
    ended = take.when(node.at("performedPeriod"), "end")
    value = valid(PastEvent, {"term": term, "date": date, "ended": ended, "note": take.notes(node)}) if term else None
    return [Fact("history", value, take, ear) for ear in sorted(site.ears)] if value else []


def _work(node: Node, said: str, site: Site, take: Taking, case: Case) -> list[Fact]:
    term = take.term(node.at("code"))
    if not term:
        return []
    outcome: Term | str | None
    if said == "stopped" and not node.has("outcome"):
        outcome = STOPPED
        take.mean(node, "status")
    else:
        outcome = take.term(node.at("outcome")) if node.has("outcome") else None
    reasons = node.each("reasonCode")
    fields = {
        "method": term,
        "why": take.say(reasons[0], "text") if len(reasons) == 1 else None,
        "outcome": outcome,
        "outcome_reason": take.term(node.at("statusReason")) if node.has("statusReason") else None,
        "note": take.notes(node),
    }
    value = valid(Work, fields)
    if value is None or (node.has("outcome") and outcome is None):
        return []
    return [Fact("work", value, take, ear) for ear in sorted(site.ears)]
