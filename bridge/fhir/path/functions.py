"""Functions of FHIRPath on collections, and those that FHIR adds. Source: https://hl7.org/fhirpath/N1/#functions,
https://hl7.org/fhir/R4/fhirpath.html#functions.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial

from bridge.fhir.path import each, patterns
from bridge.fhir.path.built import Built, Collect, Judge, collected, judged
from bridge.fhir.path.equal import distinct, key
from bridge.fhir.path.items import AWAY, Items, Run, children, descendants, step
from bridge.fhir.path.kinds import is_type, kind_of, made, single, text, truth, wanted
from bridge.fhir.path.references import resolved, resolved_to_type
from bridge.fhir.path.sums import whole_number
from bridge.fhir.path.syntax import Part, type_name
from bridge.fhir.path.texts import CONVERSIONS, TEXTS
from bridge.fhir.path.undecided import BeyondError, UndecidedError

NEVER = {
    *("memberOf", "conformsTo", "htmlChecks", "htmlChecks2", "subsumes", "subsumedBy", "elementDefinition", "slice"),
    *("checkModifiers", "timeOfDay"),
}
"""What needs a terminology server, a profile, or a narrative's rules; no engine is asked."""


def today(items: Items, run: Run) -> Items:
    """The day by the clock of this machine, in its time zone."""
    return made(datetime.now().astimezone().date().isoformat(), "Date")


def now(items: Items, run: Run) -> Items:
    """The moment by the clock of this machine."""
    return made(datetime.now().astimezone().isoformat(timespec="milliseconds"), "DateTime")


CLOCK = {"today": today, "now": now}


def call(part: Part, build: Callable[[Part], Built]) -> Built:
    """A call of a function; `build` is for its arguments.

    Raises BeyondError for one that is not known here, or with a wrong number of arguments.
    """
    name, args = part.word, part.args
    if name in NEVER:
        return collected(_never)
    if name in CLOCK and not args:
        return collected(CLOCK[name])
    if name in {"is", "as", "ofType"}:
        return _typed(name, wanted(type_name(_only(args))))
    if name in _PLAIN and not args:
        return collected(_PLAIN[name])
    if name in _ASKED and not args:
        return judged(_ASKED[name])
    if name in _LISTS and len(args) == 1:
        return collected(partial(_against, _LISTS[name], build(args[0]).collect))
    if name in _COMPARED and len(args) == 1:
        return judged(partial(_compared, _COMPARED[name], build(args[0]).collect))
    if name in _EACH and len(args) == 1:
        return _EACH[name](build(args[0]))
    if name in {"skip", "take"} and len(args) == 1:
        return collected(partial(_part_of, name, build(args[0]).collect))
    if name == "iif" and len(args) in {2, 3}:
        then, other = build(args[1]).collect, build(args[2]).collect if len(args) == 3 else None
        return collected(partial(_iif, build(args[0]).judge, then, other))
    if name == "aggregate" and len(args) in {1, 2}:
        start = build(args[1]).collect if len(args) == 2 else None
        return collected(partial(each.aggregate, build(args[0]).collect, start))
    if name == "join" and len(args) < 2:
        return collected(partial(_join, build(args[0]).collect if args else None))
    if name == "trace" and len(args) in {1, 2}:
        return Built(lambda items, run: items, lambda items, run: truth(items))
    if name in TEXTS and len(args) in TEXTS[name][0]:
        return collected(partial(_of_text, TEXTS[name][1], [build(arg).collect for arg in args]))
    if name == "matches" and len(args) == 1:
        return judged(partial(_matches, build(args[0]).collect))
    if name in CONVERSIONS and not args:
        return collected(CONVERSIONS[name])
    raise BeyondError


def _only(args: tuple[Part, ...]) -> Part:
    if len(args) != 1:
        raise BeyondError
    found: Part = args[0]
    return found


def _never(items: Items, run: Run) -> Items:
    raise UndecidedError


def _typed(name: str, type: str) -> Built:
    if name == "is":
        return judged(lambda items, run: _is(items, type))
    return collected(lambda items, run: [item for item in items if is_type(item, type)])


def _is(items: Items, type: str) -> bool | None:
    if len(items) > 1:
        raise UndecidedError
    return is_type(items[0], type) if items else None


_EACH: dict[str, Callable[[Built], Built]] = {
    "where": each.where,
    "exists": each.exists_of,
    "all": each.all_of,
    "any": each.exists_of,
    "select": each.select,
    "repeat": each.repeat,
    "extension": lambda arg: collected(partial(_extension, arg.collect)),
}


def _extension(arg: Collect, items: Items, run: Run) -> Items:
    url = text(each.at_this(arg, run))
    found = step(items, "extension")
    return [item for item in found if isinstance(item[0], dict) and item[0].get("url") == url]


def _part_of(name: str, arg: Collect, items: Items, run: Run) -> Items:
    count = whole_number(each.at_this(arg, run))
    if count is None:
        return []
    count = max(count, 0)
    return items[count:] if name == "skip" else items[:count]


def _iif(criterion: Judge, then: Collect, other: Collect | None, items: Items, run: Run) -> Items:
    this = run.this
    run.this = items
    try:
        if criterion(items, run):
            return then(items, run)
        return other(items, run) if other else []
    finally:
        run.this = this


def _join(arg: Collect | None, items: Items, run: Run) -> Items:
    by = text(each.at_this(arg, run)) if arg else ""
    words = [text([item]) for item in items]
    if by is None or not words:
        return []
    joined = by.join(word for word in words if word is not None)
    run.spend(len(joined) // 16 + len(words))
    return made(joined, "String")


def _matches(arg: Collect, items: Items, run: Run) -> bool | None:
    given = text(items)
    pattern = text(each.at_this(arg, run)) if given is not None else None
    if given is None or pattern is None:
        return None
    run.spend(len(given) // 8)
    return patterns.found(pattern, given)


def _of_text(function: Callable[..., Items], args: list[Collect], items: Items, run: Run) -> Items:
    item = single(items)
    if item is None or item[0] is None:
        return []
    if not isinstance(item[0], str):
        raise UndecidedError
    given = [each.at_this(arg, run) for arg in args]
    run.spend(len(item[0]) // 8)
    return function(item[0], *given)


def _against(function: Callable[[Items, Items], Items], arg: Collect, items: Items, run: Run) -> Items:
    others = each.at_this(arg, run)
    run.spend(len(items) + len(others))
    return function(items, others)


def _compared(function: Callable[[Items, Items], bool], arg: Collect, items: Items, run: Run) -> bool:
    others = each.at_this(arg, run)
    run.spend(len(items) + len(others))
    return function(items, others)


def _within(items: Items, others: Items) -> bool:
    there = {key(item) for item in others}
    return all(key(item) in there for item in items)


def _shared(items: Items, others: Items) -> Items:
    there = {key(item) for item in others}
    return distinct([item for item in items if key(item) in there])


def _without(items: Items, others: Items) -> Items:
    there = {key(item) for item in others}
    return [item for item in items if key(item) not in there]


_LISTS: dict[str, Callable[[Items, Items], Items]] = {
    "union": lambda items, others: distinct(items + others),
    "combine": lambda items, others: items + others,
    "intersect": _shared,
    "exclude": _without,
}
_COMPARED: dict[str, Callable[[Items, Items], bool]] = {
    "subsetOf": _within,
    "supersetOf": lambda items, others: _within(others, items),
}


def _has_value(items: Items, run: Run) -> bool:
    return len(items) == 1 and items[0][0] is not None and not isinstance(items[0][0], dict) and items[0][0] is not AWAY


def _single(items: Items, run: Run) -> Items:
    if len(items) > 1:
        raise UndecidedError
    return items


def _value(items: Items, run: Run) -> Items:
    kind = kind_of(items[0][1]) if len(items) == 1 else ""
    return made(items[0][0], kind) if kind and _has_value(items, run) else []


_PLAIN: dict[str, Collect] = {
    "first": lambda items, run: items[:1],
    "last": lambda items, run: items[-1:],
    "tail": lambda items, run: items[1:],
    "single": _single,
    "count": lambda items, run: made(len(items), "Integer"),
    "distinct": lambda items, run: distinct(items),
    "children": children,
    "descendants": descendants,
    "getValue": _value,
    "resolve": resolved,
    "resolve type": resolved_to_type,
}


def _not(items: Items, run: Run) -> bool | None:
    answer = truth(items)
    return None if answer is None else not answer


def _every(wanted_truth: bool, all_of_them: bool) -> Judge:
    def judge(items: Items, run: Run) -> bool:
        says = []
        for item in items:
            answer = truth([item])
            says.append(answer is wanted_truth)
        return all(says) if all_of_them else any(says)

    return judge


_ASKED: dict[str, Judge] = {
    "exists": lambda items, run: bool(items),
    "empty": lambda items, run: not items,
    "not": _not,
    "hasValue": _has_value,
    "isDistinct": lambda items, run: len({key(item) for item in items}) == len(items),
    "allTrue": _every(True, True),
    "anyTrue": _every(True, False),
    "allFalse": _every(False, True),
    "anyFalse": _every(False, False),
}
