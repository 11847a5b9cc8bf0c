"""All rules over one visit."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Field, items
from bridge.check.clinical.question import Question
from bridge.check.clinical.rule import ClinicalRule, Judgement
from bridge.check.clinical.rulebook import RuleBook
from bridge.ear_words import EARS
from bridge.visit import Visit

_NAMED = re.compile(r"\{([a-z0-9-]+)\}")


def judge(visit: Visit, rules: Sequence[ClinicalRule], *, asks: bool = True) -> list[Judgement]:
    """What fires and what asks, in the order of the rules; the visit must be coded. An ear of which nothing is recorded
    is not looked at. Without `asks` only what fires."""
    whole = Context(visit)
    ears = [whole.at_ear(ear) for ear in EARS if visit.ear(ear) is not None]
    found: list[tuple[tuple[int, int, int], Judgement]] = []
    book = rules if isinstance(rules, RuleBook) else RuleBook(rules)
    for each, watch in book.on(visit.start).roster.items():
        for nth, context in enumerate(contexts_of(each, whole, ears)):
            for entry in watch.awake(context):
                for asking in entry.needed:
                    if asking(context) is False:
                        break
                else:
                    found += [((*entry.order, nth), one) for one in _judged(entry.rule, context, asks)]
    whole.forget()
    return [one for _, one in sorted(found, key=lambda one: one[0])]


def _judged(rule: ClinicalRule, context: Context, asks: bool) -> Iterator[Judgement]:
    verdict, matters = rule.verdict(context)
    if verdict == "fires":
        yield Judgement(rule, "fires", _place(rule, context), context.ear, _message(rule, context))
    elif verdict == "asks" and asks:
        yield _asking(rule, context, matters)


def contexts_of(each: str, whole: Context, ears: list[Context]) -> Iterator[Context]:
    if each == "visit":
        yield whole
    elif each == "ear":
        yield from ears
    elif each.startswith("visit."):
        yield from items(each, whole)
    else:
        for ear in ears:
            yield from items(each, ear)


def _asking(rule: ClinicalRule, context: Context, matters: bool) -> Judgement:
    questions = rule.open(context)
    place = questions[0].place(context) if questions else context.path
    asks = tuple(dict.fromkeys(q.told(context) for q in questions))
    torn = any(q.torn(context) for q in questions)
    names = tuple(q.name for q in questions)
    return Judgement(rule, "asks", place, context.ear, "", asks, names, matters, torn)


def _place(rule: ClinicalRule, context: Context) -> str:
    return Field(rule.at).path(context) if rule.at else context.path


def _message(rule: ClinicalRule, context: Context) -> str:
    """The rule's words with the ear and what was found filled in."""
    if "{" not in rule.message:
        return rule.message
    named: dict[str, Question] = {q.name: q for q in rule.questions()}
    filled = {
        "ear": context.ear or "",
        **{n: q.showing(context) for n, q in named.items() if f"{{{n}}}" in rule.message},
    }
    return _NAMED.sub(lambda m: filled.get(m[1], m[0]), rule.message)
