"""From judgements to issues: what fires, what asks, and one note of what was not looked at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bridge.check.clinical.rule import Judgement
from bridge.issues import Issue, Severity, Where, issue

_MOST = 6
"""Open questions that are told at most."""


def issues_of(judgements: Iterable[Judgement]) -> Iterator[Issue]:
    """One issue for each that fires or asks and matters; C590 once for those of which that is not known."""
    aside = []
    for found in judgements:
        where = Where(path=found.path)
        if found.verdict == "fires":
            yield Issue(
                found.rule.code, found.message, where, _do(found), found.rule.severity, "business-rule",
                f"{found.rule.code}:fires",
            )  # fmt: skip
        elif found.matters:
            yield _ask(found, where)
        else:
            aside.append(found)
    if aside:
        asks = list(dict.fromkeys(ask for found in aside for ask in found.asks))
        more = f"; and {len(asks) - _MOST} more" if len(asks) > _MOST else ""
        left = f"{'; '.join(asks[:_MOST])}{more}"
        told = f"Record it where it matters. Left open here, or in the first of these records: {left}."
        message = "Some rules could not be looked at, because the record does not say what they ask."
        yield issue("C590", message, Where(), help=told, cause="C590")


def _ask(found: Judgement, where: Where) -> Issue:
    rule = found.rule
    asked = "; ".join(found.asks[:_MOST])
    if found.torn:
        message = f"“{rule.title}” cannot be decided: the record answers both ways {asked}."
    else:
        message = f"“{rule.title}” cannot be decided: it is not recorded {asked}."
    severity = max(rule.ask, Severity.warning) if found.torn else rule.ask
    return Issue(rule.code, message, where, "", severity, "informational", f"{rule.code}:asks:{'|'.join(found.reads)}")


def _do(found: Judgement) -> str:
    from bridge.issues import rule_of

    page = rule_of(found.rule.code)
    return page.do if page else ""
