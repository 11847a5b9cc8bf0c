"""What the page of a clinical rule says beyond that of any rule: the red flag, what it asks, how far it is vouched for,
and what the practice changed of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bridge.issues import Rule

STATUS = {
    "published": "published; the passage was seen",
    "seen in part": "published; only an opening, a summary or a quotation was seen",
    "common practice": "common practice of the trade",
    "memory": "from memory, and not verified: it may warn and is never an error",
}
"""How far a rule is vouched for, in words."""
URGENCY = {
    "immediate": "to be seen at once",
    "urgent": "to be seen soon",
    "routine": "to be seen as a matter of routine",
}
REGIONS = {"uk": "United Kingdom", "us": "United States", "international": "other countries"}


@dataclass(frozen=True, slots=True)
class Clinical:
    """Of one rule: the questions that it asks in words, and what the practice changed (empty: nothing)."""

    asks: tuple[str, ...]
    changed: str = ""


def clinical(practice: Path | None) -> tuple[dict[str, Rule], dict[str, Clinical]]:
    """Pages of the practice's own rules, and what is to be said of every clinical rule, both by code.

    A practice is not needed. Raises MappingError where its files have faults.
    """
    from bridge.check.clinical import load_rules
    from bridge.check.clinical.compile_rule import OWN
    from bridge.errors import SettingsError
    from bridge.issues import rule_of
    from bridge.practice_place import find_practice

    try:
        folder: Path | None = find_practice(practice)
    except SettingsError:
        if practice is not None:
            raise
        folder = None
    rules = load_rules(folder=folder)
    changed = {change.code: change.words() for change in rules.changes}
    said, own = {}, {}
    for rule in rules:
        asks = dict.fromkeys(question.asks.replace("{ear}", "right or left") for question in rule.questions())
        said[rule.code] = Clinical(tuple(asks), changed.get(rule.code, ""))
        if int(rule.code[1:]) in OWN and (page := rule_of(rule.code)):
            own[rule.code] = page
    return own, said


def flag_words(rule: Rule) -> str:
    """A red flag with its urgency and the places to send to; empty for other rules."""
    if not rule.flag:
        return ""
    to = f"; to: {', or '.join(map(_label, rule.to))}" if rule.to else ""
    return f"Red flag {rule.flag}: {URGENCY.get(rule.urgency, rule.urgency)}{to}."


def standing(rule: Rule) -> str:
    """How far the rule is vouched for, where it holds, and when it was reviewed."""
    where = ", ".join(REGIONS.get(region, region) for region in rule.regions) if rule.regions else "everywhere"
    return f"Status: {STATUS.get(rule.status, rule.status)}. Holds: {where}. Reviewed: {rule.reviewed}."


def _label(concept: str) -> str:
    from bridge.phrases.vocabulary import shipped_rows

    return next((row["label"] for _, row in shipped_rows() if row["concept"] == concept), concept)
