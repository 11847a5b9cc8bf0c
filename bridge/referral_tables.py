"""What the tables say of referrals: how soon an urgency means, which rules a record may name, which words count."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import cache

from bridge.data import load_csv, table_path
from bridge.phrases.fold import fold

_SECONDS = re.compile(r"T\d\d:\d\d:\d\d")
_ID = re.compile(r"RF\s?\d{2}\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Urgency:
    """One row of mappings/referral-urgency.csv."""

    urgency: str
    priority: str
    """Of the R4 ServiceRequest."""
    hours: int
    days: int
    """One of both sets the last moment or day; neither, where both are 0."""
    words: str
    """`within 24 hours`; empty where there is no last day."""


@dataclass(frozen=True, slots=True)
class ReferralRule:
    """One row of mappings/referral-rules.csv."""

    id: str
    urgency: str
    """What the source asks for; empty where it leaves that open."""
    onset: bool
    """Whether it rests on when a symptom began and how fast it came on."""
    words: str
    source: str


@cache
def urgencies() -> dict[str, Urgency]:
    rows = load_csv(table_path("referral-urgency.csv"))
    return {
        r["urgency"]: Urgency(r["urgency"], r["priority"], int(r["hours"] or 0), int(r["days"] or 0), r["words"])
        for r in rows
    }


def last_moment(start: str, urgency: str, zone: tzinfo) -> str:
    """When the client is to be seen at the latest: hours count from the minute, days from the day; empty where nothing
    sets one, or the start is not known well enough to count from."""
    meant = urgencies()[urgency]
    if not meant.hours:
        return last_day(start, urgency)
    if "T" not in start:
        return ""
    end = (datetime.fromisoformat(start) + timedelta(hours=meant.hours)).astimezone(zone)
    return end.isoformat(timespec="seconds" if _SECONDS.search(start) else "minutes")


def last_day(start: str, urgency: str) -> str:
    """The day that surely holds the last moment or comes after it; empty where nothing sets one."""
    meant, day = urgencies()[urgency], start[: len("2026-11-03")]
    if not (meant.hours or meant.days) or len(day) < len("2026-11-03"):
        return ""
    return (date.fromisoformat(day) + timedelta(hours=meant.hours, days=meant.days)).isoformat()


def rule_id(text: str) -> str:
    """The id of a rule that the words begin with, known or not; empty where they name a rule in words only."""
    found = _ID.match(text.strip())
    return found[0].upper().replace(" ", "") if found else ""


def rule_of(text: str) -> ReferralRule | None:
    """The rule of the table that the record's words name."""
    return _rules().get(rule_id(text))


@cache
def _rules() -> dict[str, ReferralRule]:
    rows = load_csv(table_path("referral-rules.csv"))
    return {r["id"]: ReferralRule(r["id"], r["urgency"], r["onset"] == "yes", r["words"], r["source"]) for r in rows}


def has_word(folded: str, what: str) -> bool:
    """Whether folded words hold one that mappings/referral-words.csv has under `what`."""
    return any(re.search(rf"\b{re.escape(word)}\b", folded) for word in words(what))


@cache
def words(what: str) -> frozenset[str]:
    """What stands under `what` in mappings/referral-words.csv, folded; concepts as they are."""
    rows = load_csv(table_path("referral-words.csv"))
    return frozenset(row["word"] if what == "symptom" else fold(row["word"]) for row in rows if row["what"] == what)


def called(told_by: str) -> bool:
    """Whether the receiver was told by voice: not by a letter or a message, and not where the words deny the call,
    doubt it or leave it unfinished."""
    return spoken(told_by) and not has_word(fold(told_by), "not-called") and "?" not in told_by


def spoken(told_by: str) -> bool:
    """Whether the words speak of telling by voice at all."""
    return has_word(fold(told_by), "spoken")
