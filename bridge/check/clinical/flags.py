"""Red flags of a visit: which stand, and which the record answers.

A flag is answered by a referral of its ear that is at least as fast as the flag asks for, or by a recorded reason why
nobody was asked to see the client. Neither is ever assumed: a referral whose own words say that it was not made is
none, and a word or a dash is no reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from bridge.check.clinical.engine import judge
from bridge.check.clinical.rule import ClinicalRule, Judgement
from bridge.check.clinical.rulebook import RuleBook
from bridge.check.clinical.told import issues_of
from bridge.data import load_csv, table_path
from bridge.ear_words import Ear
from bridge.issues import Issue, Severity, Where, issue
from bridge.nothing_words import says_nothing
from bridge.phrases.fold import fold
from bridge.referral_tables import has_word, urgencies
from bridge.shapes import Alert
from bridge.visit import Visit
from bridge.visit.care import Referral

_SPEED = ("routine", "urgent", "immediate")
_LEAST_REASON = 8
"""Letters below which nothing is a reason."""


@dataclass(slots=True)
class Looked:
    """What the rules say of one visit."""

    issues: list[Issue] = field(default_factory=list)
    alerts: list[Alert] = field(default_factory=list)
    """Red flags that no referral answers."""

    @property
    def open_now(self) -> bool:
        """Whether one of them asks for the client to be seen at once, and the record gives no reason against it: nobody
        can then have approved the record with open eyes."""
        return any(is_open_now(alert) for alert in self.alerts)


def look(visit: Visit, rules: Sequence[ClinicalRule]) -> Looked:
    """All that the rules find in a coded visit; a flag that its referral answers is not told."""
    judgements = judge(visit, rules)
    alerts = open_flags(visit, judgements)
    told = _told(visit, judgements, alerts)
    return Looked([*told, *_of_answers(visit, judgements, alerts)], alerts)


def switched_off(visit: Visit, rules: RuleBook) -> list[Issue]:
    """A note for each open red flag of what may not wait whose rule the practice switched off: it holds nothing back,
    and is never silent."""
    off = rules.off(visit.start)
    alerts = open_flags(visit, judge(visit, off)) if off else []
    return [_switched_off(code) for code in dict.fromkeys(alert.rule for alert in alerts if is_open_now(alert))]


def _switched_off(code: str) -> Issue:
    message = f"The record raises the red flag of rule {code}, which the practice has switched off."
    return replace(issue("C594", message, Where(), cause=f"C594:{code}"), attention=True)


def open_flags(visit: Visit, judgements: Iterable[Judgement]) -> list[Alert]:
    """Red flags that no referral of their ear answers as fast as they ask for; with the reason, if one is recorded."""
    return [
        Alert(
            found.rule.code,
            found.rule.flag,
            found.ear,
            found.rule.urgency,
            found.message,
            found.rule.source,
            named_services(found.rule.to),
            found.path,
            _reason(visit, found.rule),
            slower=_referred(visit, found.ear),
        )
        for found in judgements
        if _is_flag(found) and not _answers(visit, found)
    ]


def named_services(concepts: Iterable[str]) -> tuple[str, ...]:
    """The kinds of service that a rule names, in words."""
    return tuple(_services()[concept] for concept in concepts)


@cache
def _services() -> dict[str, str]:
    """Labels of the kinds of service by their concepts."""
    rows = load_csv(table_path("terms", "care.csv"))
    return {row["concept"]: row["label"] for row in rows if row["kind"] == "referral-target"}


def is_open_now(alert: Alert) -> bool:
    return alert.urgency == "immediate" and not alert.answered


def _is_flag(found: Judgement) -> bool:
    return bool(found.rule.flag) and found.verdict == "fires"


def _answers(visit: Visit, found: Judgement) -> bool:
    """Whether the referral of the visit is about this flag's ear and at least as fast."""
    referral = visit.referral
    if referral is None or not _referred(visit, found.ear):
        return False
    return _SPEED.index(referral.urgency) >= _SPEED.index(found.rule.urgency)


def _referred(visit: Visit, ear: Ear | None) -> bool:
    """Whether there is a referral that this ear may be meant by: of this ear, or of none that is named."""
    referral = visit.referral
    if referral is None or _not_made(referral):
        return False
    return ear is None or referral.ear is None or ear in referral.ears


def _not_made(referral: Referral) -> bool:
    """Whether its words say that it did not come about."""
    told = (referral.to.text, referral.reason, referral.agreed, referral.client_told)
    return any(has_word(fold(words), "not-made") for words in told if words)


def _elsewhere(visit: Visit, rule: ClinicalRule) -> bool:
    """Whether the kind of service referred to is known, and is none that the rule names."""
    codes = {coding.code for coding in visit.referral.to.codings} if visit.referral else set()
    known = codes & set(_services())
    return bool(rule.to and known) and known.isdisjoint(rule.to)


def _fastest(visit: Visit, judgements: Iterable[Judgement]) -> list[ClinicalRule]:
    """Of the flags that the referral answers, those that ask to be seen soonest: they decide where to."""
    answered = [found.rule for found in judgements if _is_flag(found) and _answers(visit, found)]
    soonest = max((_SPEED.index(rule.urgency) for rule in answered), default=0)
    return [rule for rule in answered if _SPEED.index(rule.urgency) == soonest]


def _reason(visit: Visit, rule: ClinicalRule) -> str:
    told = visit.not_referred
    if told is None or (told.rules and not any(_names(one, rule) for one in told.rules)):
        return ""
    return told.reason if _says_why(told.reason) else ""


def _says_why(reason: str) -> bool:
    """Whether there is enough of it to be a reason: two words."""
    bare = fold(reason)
    said = [word for word in bare.split() if any(map(str.isalpha, word))]
    return len(said) > 1 and sum(map(str.isalpha, bare)) >= _LEAST_REASON and not says_nothing("not_referred", bare)


def _names(words: str, rule: ClinicalRule) -> bool:
    return words.upper().replace(" ", "") in (rule.flag, rule.code)


def _told(visit: Visit, judgements: list[Judgement], alerts: list[Alert]) -> Iterator[Issue]:
    """The issues of all judgements: open flags marked, those with a reason as a note, those referred left out."""
    stand = {(alert.rule, alert.path): alert for alert in alerts}
    rest = [found for found in judgements if not (_is_flag(found) and _answers(visit, found))]
    for found in issues_of(rest):
        alert = stand.get((found.rule, found.where.path)) if found.cause == f"{found.rule}:fires" else None
        if alert is None:
            yield found
        elif alert.answered:
            message = f"{found.message} The record says why nobody was asked to see the client."
            again = "Nothing, if the reason still holds."
            answered = replace(found, message=message, help=again, severity=Severity.information)
            yield replace(answered, cause=f"{found.rule}:answered")
        else:
            message = f"{found.message} {_open(alert)}{_no_reason(visit)}"
            yield replace(found, message=message, attention=is_open_now(alert))


def _open(alert: Alert) -> str:
    soon = urgencies()[alert.urgency].words
    if alert.slower:
        return f"This asks to be seen {soon}, and the referral recorded is slower."
    return f"This asks to be seen {soon}, and no referral is recorded." if soon else "No referral is recorded."


def _no_reason(visit: Visit) -> str:
    told = visit.not_referred
    return "" if told is None or _says_why(told.reason) else " What stands as the reason says too little to be one."


def _of_answers(visit: Visit, judgements: list[Judgement], alerts: list[Alert]) -> Iterator[Issue]:
    """D171: referred, and slower than a flag asks for. D172: a reason for a flag that does not stand. D173: referred in
    time, and to a kind of service that the flag's source does not name."""
    for urgency in dict.fromkeys(a.urgency for a in alerts if a.slower and not a.answered):
        message = f"The referral is slower than a red flag asks for, which is {urgency}."
        yield issue("D171", message, Where(path="referral.urgency"), cause=f"D171:{urgency}")
    if any(_elsewhere(visit, rule) for rule in _fastest(visit, judgements)):
        message = "The referral goes to another kind of service than the source of a red flag names."
        yield issue("D173", message, Where(path="referral.to"), cause="D173")
    named = visit.not_referred.rules if visit.not_referred else ()
    flags = [found.rule for found in judgements if found.rule.flag]
    for number, words in enumerate(named):
        if not any(_names(words, rule) for rule in flags):
            message = "The reason for not referring names a red flag that the record does not raise."
            yield issue("D172", message, Where(path=f"not_referred.rules[{number}]"), cause="D172")
