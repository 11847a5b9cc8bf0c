"""Whether one moment lies before another, as far as both are known."""

from __future__ import annotations

from datetime import date, datetime

from bridge.ear_words import Stage
from bridge.receive.foreign.nodes import Node


def day(text: str) -> str:
    """The day of a moment as written; empty where no day is known."""
    return text[:10] if len(text) >= 10 else ""


def within_a_day(start: str, end: str) -> bool:
    """Whether an end, where it is told, is on the day of the start or the next one."""
    if not end:
        return True
    try:
        return 0 <= (date.fromisoformat(day(end)) - date.fromisoformat(day(start))).days <= 1
    except ValueError:
        return False


def told(node: Node, element: str) -> tuple[str, str]:
    """Start and end of `effective[x]`, `performed[x]` and the like, as written; empty where they are not told."""
    single = node.text(f"{element}DateTime") or node.text(f"{element}Instant")
    if single:
        return single, single
    period = node.at(f"{element}Period")
    return period.text("start"), period.text("end")


def within(node: Node, element: str, encounter: Node) -> str:
    """Where a fact stands to the days of its visit: `in`, `before`, `after`, or `untold`."""
    start, end = told(node, element)
    if not start and not end:
        return "untold" if not any(str(key).startswith(element) for key in node.data) else "unclear"
    first = day(encounter.at("period").text("start"))
    last = day(encounter.at("period").text("end")) or first
    begins, ends = day(start or end), day(end or start)
    if not (first and begins and ends):
        return "unclear" if not (start and first and start[:4] < first[:4]) else "before"
    if ends < first:
        return "before"
    if begins > last:
        return "after"
    return "in" if first <= begins and ends <= last else "unclear"


def stage(node: Node, works: list[Node]) -> Stage | None:
    """Before or after the work on the ear; before where none was done; None where that cannot be told."""
    start, end = told(node, "effective")
    if not works:
        return "before"
    looked, left = _moment(start), _moment(end or start)
    begun = [_moment(told(work, "performed")[0]) for work in works]
    done = [_moment(told(work, "performed")[1] or told(work, "performed")[0]) for work in works]
    first = [m for m in begun if m]
    last = [m for m in done if m]
    if not looked or not left or len(first) < len(works) or len(last) < len(works):
        return None
    if left < min(first):
        return "before"
    return "after" if looked > max(last) else None


def _moment(text: str) -> datetime | None:
    """A moment with its time; None for a day."""
    try:
        found = datetime.fromisoformat(text) if "T" in text else None
    except ValueError:
        return None
    return found if found and found.tzinfo else None
