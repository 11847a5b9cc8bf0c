"""Conditions and flags of another system: impressions, what is known from before, cautions."""

from __future__ import annotations

from bridge.receive.foreign.facts import Case, Fact, doubted, sided
from bridge.receive.foreign.nodes import Node, Taking, valid
from bridge.receive.foreign.sides import site_of
from bridge.receive.foreign.statements import doubt, doubt_around, ended, standing
from bridge.receive.foreign.tables import kinds_of_codes
from bridge.visit.care import Caution
from bridge.visit.ear import Impression, PastEvent

_SURE = {"stated": "present", "suspected": "suspected", "absent": "absent", "past": "past", "": None}


def read_condition(node: Node, case: Case) -> list[Fact]:
    """An impression of each ear that it names, or an earlier event; of no ear, a caution where it is known as one."""
    take = Taking()
    said = standing(node, take)
    if said not in _SURE or case.not_today.get(node.source.number) == "other":
        return []
    code = node.at("code")
    past = said == "past" or ended(node) or case.past(node)
    if past and said in ("suspected", "absent"):
        return []
    site = site_of(node, [code], case.addresses, take)
    if not sided(node, site, case):
        return [] if site.at_odds else _caution(node, said, past, take, case)
    if doubt(code, "impression") or doubt_around(node):
        doubted(node, case)
        return []
    term = take.term(code, "past" if past else _SURE[said])
    if not term:
        return []
    onset, note = take.when(node, "onsetDateTime"), take.notes(node)
    if past:
        ended_at = take.when(node, "abatementDateTime")
        value = valid(PastEvent, {"term": term, "date": onset, "ended": ended_at, "note": note})
    else:
        listed = any("problem-list-item" in {c for _, c in k.codes()} for k in node.each("category"))
        value = valid(Impression, {"term": term, "onset": onset, "note": note, "standing": listed})
        if listed:
            for category in node.each("category"):
                for coding in category.each("coding"):
                    take.mean(coding, "system", "code", "display")
    if value is None:
        return []
    return [Fact("history" if past else "impressions", value, take, ear) for ear in sorted(site.ears)]


def _caution(node: Node, said: str, past: bool, take: Taking, case: Case) -> list[Fact]:
    """A disorder of no ear whose code is one of our cautions; only where it stands, or may."""
    code = node.at("code")
    kinds = [kinds_of_codes().get(c, frozenset()) for c in code.codes()]
    if past or said == "absent" or node.any("bodySite") or not any("caution" in k for k in kinds):
        return []
    if doubt(code, "caution") or doubt_around(node):
        doubted(node, case)
        return []
    term = take.term(code, _SURE[said])
    since, note = take.when(node, "onsetDateTime"), take.notes(node)
    value = valid(Caution, {"term": term, "since": since, "note": note}) if term else None
    return [Fact("cautions", value, take)] if value else []


def read_flag(node: Node, case: Case) -> list[Fact]:
    """A flag that is up, as a caution in its own words."""
    take = Taking()
    if standing(node, take) != "stated" or node.at("period").has("end"):
        return []
    if doubt(node.at("code"), "caution") or doubt_around(node):
        doubted(node, case)
        return []
    term = take.term(node.at("code"), "present")
    since = take.when(node.at("period"), "start")
    value = valid(Caution, {"term": term, "since": since}) if term else None
    return [Fact("cautions", value, take)] if value else []
