"""What a record does not say never satisfies a rule and never violates it: everything that stands in the record of a
case is taken out, one by one, and the verdict may then turn only in ways that are accounted for here.

The rule's own questions are asked one by one, by rules that hold nothing else; so that a question which calls itself
one about the record has no way around this.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from bridge.check.clinical import ClinicalRule, judge, load_rules
from bridge.check.clinical.answers import Answer
from bridge.check.clinical.expression import Expression
from bridge.check.clinical.question import Question
from bridge.coding import code_visit
from bridge.ear_words import EARS
from bridge.visit import Visit
from tests.check.clinical.accounted import ASKS_WHAT_IS_MISSING, CONTRADICTS, OTHERWISE
from tests.check.clinical.test_cases import BASE, FILES, _load, maps, over

RULES = {rule.code: rule for rule in load_rules()}
EVERYTHING = Expression("all", ())
NOTHING = Expression("any", ())
Said = dict[str, Answer]
"""Answers by the place that is looked at."""


def said(visit: Visit, rule: ClinicalRule, part: Expression | Question) -> Said:
    """The answer to a part of a rule at each place that the rule looks at."""

    def places(when: Expression, said: str) -> set[str]:
        probe = replace(rule, when=when, holds=EVERYTHING, unless=NOTHING, at="", message="")
        return {one.path for one in judge(visit, [probe]) if one.verdict == said}

    yes = places(Expression("all", (part,)), "fires")
    no = places(Expression("not", (part,)), "fires")
    return {place: True if place in yes else False if place in no else None for place in places(EVERYTHING, "fires")}


def leaves(data: Any, above: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Everything that can be taken out of a record, great and small."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in pairs:
        if (*above, key) not in {("number",), ("start",)}:
            yield (*above, key)
            yield from leaves(value, (*above, key))


def without(data: dict[str, Any], path: tuple[Any, ...]) -> Visit | None:
    """The record without that; None where a record cannot be without it."""
    cut = copy.deepcopy(data)
    holder: Any = cut
    for key in path[:-1]:
        holder = holder[key]
    del holder[path[-1]]
    return read(cut)


def read(data: dict[str, Any]) -> Visit | None:
    try:
        visit = Visit.model_validate(data)
    except ValueError:
        return None
    return code_visit(visit, maps())[0]


def has_no_subject(rule: ClinicalRule, visit: Visit, place: str) -> bool:
    """Whether nothing stands there any more, or a question about the record says that the rule has no matter there."""
    if place not in said(visit, rule, EVERYTHING):
        return True
    return any(
        said(visit, rule, part)[place] is False
        for part in rule.when.parts
        if (isinstance(part, Question) and part.about_record)
        or (isinstance(part, Expression) and _about_record(part))
        or (isinstance(part, Expression) and [*about_record(part)])
    )


def _about_record(part: Expression) -> bool:
    return any(question.about_record for question in part.questions())


class Verdicts:
    """What the rule says at each place of a visit."""

    def __init__(self, visit: Visit, rule: ClinicalRule) -> None:
        self.excused = said(visit, rule, rule.unless)
        gates, held = said(visit, rule, rule.when), said(visit, rule, rule.holds)
        self.at = {place: self._of(gates[place], held[place], self.excused[place]) for place in gates}

    @staticmethod
    def _of(gate: Answer, held: Answer, excused: Answer) -> str:
        if gate is False or held is False or excused is True:
            return "quiet"
        return "fires" if gate and held and excused is False else "asks"


def taken_out(rule: ClinicalRule) -> Iterator[tuple[str, Verdicts, Visit]]:
    """What was taken out of the record of a case, what the rule said before, and the record without it."""
    for case in _load(next(path for path in FILES if path.stem == rule.code))["cases"]:
        data = Visit.model_validate(over(BASE, case["visit"])).model_dump(mode="json", exclude_defaults=True)
        whole = read(data)
        assert whole is not None
        before = Verdicts(whole, rule)
        for path in leaves(data):
            visit = without(data, path)
            if visit is not None and not shifts(path, rule):
                yield ".".join(map(str, path)), before, visit


def shifts(path: tuple[Any, ...], rule: ClinicalRule) -> bool:
    """Whether what is taken out is one that the rule looks at, so that those after it have other places then."""
    names = [str(key) for key in path if isinstance(key, str)]
    root = "ear" if names[0] in EARS else "visit"
    return isinstance(path[-1], int) and ".".join([root, *(names[1:] if root == "ear" else names)]) in rule.each


@pytest.mark.parametrize("code", RULES)
def test_what_is_taken_out_satisfies_and_violates_nothing(code: str) -> None:
    rule = RULES[code]
    for path, before, visit in taken_out(rule):
        now = Verdicts(visit, rule)
        for place, verdict in before.at.items():
            turned = f"{verdict} to {now.at.get(place, 'quiet')} without {path}"
            if verdict != "quiet" and now.at.get(place, "quiet") == "quiet":
                assert code in OTHERWISE or now.excused.get(place) is not True, turned
                assert code in (*CONTRADICTS, *OTHERWISE) or has_no_subject(rule, visit, place), turned
            elif verdict == "quiet" and now.at.get(place) == "fires":
                assert before.excused[place] or code in (*ASKS_WHAT_IS_MISSING, *OTHERWISE), turned


def about_record(part: Expression | Question, turned_over: bool = False) -> Iterator[bool]:
    """Of each question about the record in it, whether it stands under `not`, so that to be missing says yes."""
    if isinstance(part, Question):
        if part.about_record:
            yield turned_over
    else:
        for inner in part.parts:
            yield from about_record(inner, turned_over != (part.joined == "not"))


def test_what_is_not_written_counts_as_no_only_where_that_is_accounted_for() -> None:
    contradicts = {code for code, rule in RULES.items() if False in about_record(rule.holds)}
    missing = {code for code, rule in RULES.items() if True in (*about_record(rule.when), *about_record(rule.holds))}
    assert contradicts == set(CONTRADICTS)
    assert missing == set(ASKS_WHAT_IS_MISSING)


def test_every_other_way_to_turn_is_still_needed() -> None:
    needed = set()
    for code in OTHERWISE:
        for _, before, visit in taken_out(RULES[code]):
            now = Verdicts(visit, RULES[code])
            for place, verdict in before.at.items():
                after = now.at.get(place, "quiet")
                kept = has_no_subject(RULES[code], visit, place) or code in CONTRADICTS
                satisfied = (
                    verdict != "quiet" and after == "quiet" and not (kept and now.excused.get(place) is not True)
                )
                if satisfied or (verdict == "quiet" and after == "fires" and not before.excused[place]):
                    needed.add(code)
    assert needed == set(OTHERWISE)


def test_what_is_not_written_excuses_nothing() -> None:
    """Of an excuse under `not`, something else that is written has to hold as well."""
    for rule in RULES.values():
        for excuse in rule.unless.parts:
            if True in about_record(excuse):
                assert isinstance(excuse, Expression)
                assert excuse.joined == "all"
                assert any(isinstance(part, Question) and part.about_record for part in excuse.parts), rule.code


def test_an_ear_of_which_nothing_is_told_answers_no_question() -> None:
    """Only questions about the record are answered without one, and these say no."""
    bare = read(
        {**BASE, "client": {**BASE["client"], "birth_date": None}, "right": {"note": "-"}, "left": {"note": "-"}}
    )
    assert bare is not None
    for rule in RULES.values():
        for each in ("visit", "ear"):
            if each in rule.each:
                looking = replace(rule, each=(each,))
                assert True not in said(bare, looking, rule.unless).values(), rule.code
                for question in rule.questions():
                    if question.name not in KNOWN_WITHOUT:
                        answers = set(said(bare, looking, question).values())
                        assert answers <= ({False, None} if question.about_record else {None}), question.name


KNOWN_WITHOUT = {
    "attended": "a visit is attended unless it says otherwise",
    "loss-sudden-and-recent": "asked of the losses that are told, and there is none",
    "loss-sudden-and-older": "the same",
    "loss-rapid": "the same",
    "loss-of-one-ear": "the other ear's record tells of no loss, which NG98 1.1.3 needs not be written down",
    "other-ear-hurts-too": "pain of the other ear is no excuse before it is told",
    "object-came-out": "nothing came out before that is told",
    "both-ears-told": "a note tells of each ear here",
    "account-of-leaving": "a note is an account",
    "nothing-asked": "nothing is asked of a doctor unless it is said",
}
"""Questions that are answered although nothing is recorded, and why."""
