"""What another system says was advised and asked for at a visit: instructions to the client, a referral."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.nothing_words import says_nothing
from bridge.receive.foreign.facts import Case, Fact, doubted, sided
from bridge.receive.foreign.nodes import Node, Taking, valid
from bridge.receive.foreign.sides import site_of
from bridge.receive.foreign.statements import doubt, doubt_around, standing
from bridge.receive.foreign.tables import kinds_of_codes
from bridge.visit.base import Term
from bridge.visit.care import Advice, Referral

INSTRUCTION = ("http://terminology.hl7.org/CodeSystem/communication-category", "instruction")


@cache
def urgencies() -> dict[str, str]:
    """How fast, by the priority of a ServiceRequest; "asap" has no urgency of ours and stays out."""
    return {row["priority"]: row["urgency"] for row in load_csv(table_path("referral-urgency.csv"))}


def read_advice(node: Node, case: Case) -> list[Fact]:
    """An instruction that was given to the client: its topic, or the one text that was said."""
    take = Taking()
    instructs = any(INSTRUCTION in set(category.codes()) for category in node.each("category"))
    if standing(node, take) != "stated" or not instructs or _by_client(node, case):
        return []
    said = node.each("payload")
    if node.has("topic"):
        term = take.term(node.at("topic"))
    else:
        words = take.say(said[0], "contentString") if len(said) == 1 else None
        term = valid(Term, {"text": words}) if words else None
    value = valid(Advice, {"term": term}) if term and not says_nothing("advice", term.text) else None
    return [Fact("advice", value, take)] if value else []


def _by_client(node: Node, case: Case) -> bool:
    """Whether the client may have said it, and not heard it."""
    sender = case.addresses.find(node.at("sender"))
    unknown = node.has("sender") and sender is None
    return unknown or (sender is not None and sender.text("resourceType") in ("Patient", "RelatedPerson"))


def read_referral(node: Node, case: Case) -> list[Fact]:
    """A referral, where the code is one of our places of referral, and how fast and why is told."""
    take = Taking()
    code = node.at("code")
    places = any("referral-target" in kinds_of_codes().get(c, frozenset()) for c in code.codes())
    if standing(node, take) != "stated" or not places:
        return []
    urgency = urgencies().get(node.text("priority"))
    reasons = node.each("reasonCode")
    reason = take.say(reasons[0], "text") if len(reasons) == 1 else None
    if doubt(code, "referral-target") or doubt_around(node):
        doubted(node, case)
        return []
    site = site_of(node, [], case.addresses, take)
    if site.at_odds:
        sided(node, site, case)
        return []
    take.mean(node, "priority")
    ear = "both" if len(site.ears) == 2 else next(iter(site.ears), None)
    fields = {"to": take.term(code), "urgency": urgency, "reason": reason, "ear": ear}
    value = valid(Referral, fields) if urgency and reason else None
    return [Fact("referral", value, take)] if value else []
