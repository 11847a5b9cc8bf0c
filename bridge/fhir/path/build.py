"""The quick engine: the tree of an expression to functions over JSON data.

Every part becomes a function of a collection and a run; one that is true or false is kept as such as long as it can be.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import partial

from bridge.fhir import tables
from bridge.fhir.path import sums
from bridge.fhir.path.built import Built, Collect, Judge, collected, constant, judged
from bridge.fhir.path.equal import compare, distinct, equal, equivalent, key
from bridge.fhir.path.functions import call
from bridge.fhir.path.items import Items, Run, step, whole
from bridge.fhir.path.kinds import is_type, kind_of, made, single, text, truth, wanted
from bridge.fhir.path.syntax import Part, type_name
from bridge.fhir.path.undecided import BeyondError, UndecidedError


def build(part: Part) -> Built:
    """A part with what it holds. Raises BeyondError for what the quick engine does not know."""
    return _MAKERS[part.kind](part)


def _literal(part: Part) -> Built:
    word = part.args[0]
    if part.word == "Boolean":
        return judged(lambda items, run: word == "true")
    if part.word in {"Integer", "Decimal"}:
        if len(word) > 40:
            raise UndecidedError
        return constant(made(int(word) if part.word == "Integer" else Decimal(word), part.word))
    if part.word == "Quantity":
        return constant(made((Decimal(word), sums.unit(part.args[1])), "Quantity"))
    if part.word == "Moment":
        kind = "Time" if word[0] == "T" else "DateTime" if "T" in word else "Date"
        return constant(made(word.removesuffix("T"), kind))
    return constant(made(word, "String"))


def _self(part: Part) -> Built:
    if part.word == "this":
        return collected(lambda items, run: run.this)
    if part.word == "index":
        return collected(lambda items, run: [] if run.index is None else made(run.index, "Integer"))
    if part.word == "total":
        return collected(lambda items, run: run.total or [])
    raise BeyondError


_WORDS = {"sct": "http://snomed.info/sct", "loinc": "http://loinc.org", "ucum": "http://unitsofmeasure.org"}


def _constant(part: Part) -> Built:
    name = part.word
    if name in _WORDS:
        return constant(made(_WORDS[name], "String"))
    if name.startswith("vs-"):
        return constant(made(f"http://hl7.org/fhir/ValueSet/{name[3:]}", "String"))
    if name.startswith("ext-"):
        return constant(made(f"{tables.EXTENSIONS}{name[4:]}", "String"))
    if name == "context":
        return collected(lambda items, run: run.focus)
    if name == "resource":
        return collected(lambda items, run: whole(run.env.resource))
    if name == "rootResource":
        return collected(lambda items, run: whole(run.env.root))
    if name == "extension":
        return collected(_extension_told)
    raise BeyondError


def _extension_told(items: Items, run: Run) -> Items:
    given = run.env.extension
    return [(given, "Extension", None)] if isinstance(given, dict) else []


def _name(part: Part, first: bool = True) -> Built:
    name = part.word
    if first and name[:1].isupper() and tables.knows(name):
        return collected(lambda items, run: [item for item in items if is_type(item, name)])
    return Built(lambda items, run: step(items, name), lambda items, run: truth(step(items, name)))


def _step(part: Part) -> Built:
    before, after = part.args
    if before.kind == "name" and before.word == "FHIR" and after.kind == "name":
        return _name(after)
    if after.kind == "name":
        then = _name(after, first=False)
    else:
        asks_type = after.kind == "call" and after.word in {"is", "as", "ofType"}
        if asks_type and before.kind == "call" and before.word == "resolve":
            before = before._replace(word="resolve type")
        elif asks_type and before.kind == "step" and before.args[1].word == "resolve":
            resolving = before.args[1]._replace(word="resolve type")
            before = before._replace(args=(before.args[0], resolving))
        then = build(after)
    first, collect, judge = build(before).collect, then.collect, then.judge
    return Built(lambda i, run: collect(first(i, run), run), lambda i, run: judge(first(i, run), run))


def _index(part: Part) -> Built:
    first, number = build(part.args[0]).collect, build(part.args[1]).collect

    def collect(items: Items, run: Run) -> Items:
        at = sums.whole_number(number(items, run))
        found = first(items, run)
        return [found[at]] if at is not None and 0 <= at < len(found) else []

    return collected(collect)


def _sign(part: Part) -> Built:
    inner = build(part.args[0]).collect
    if part.word == "+":
        return collected(inner)
    return collected(lambda items, run: sums.negative(inner(items, run)))


def _and(left: Judge, right: Judge, items: Items, run: Run) -> bool | None:
    try:
        one = left(items, run)
    except UndecidedError:
        if right(items, run) is False:
            return False
        raise
    if one is False:
        return False
    other = right(items, run)
    if other is False:
        return False
    return True if one and other else None


def _or(left: Judge, right: Judge, items: Items, run: Run) -> bool | None:
    try:
        one = left(items, run)
    except UndecidedError:
        if right(items, run) is True:
            return True
        raise
    if one:
        return True
    other = right(items, run)
    if other:
        return True
    return False if one is False and other is False else None


def _xor(left: Judge, right: Judge, items: Items, run: Run) -> bool | None:
    one, other = left(items, run), right(items, run)
    return None if one is None or other is None else one is not other


def _implies(left: Judge, right: Judge, items: Items, run: Run) -> bool | None:
    try:
        one = left(items, run)
    except UndecidedError:
        if right(items, run) is True:
            return True
        raise
    if one is False:
        return True
    other = right(items, run)
    return other if one else (True if other else None)


_LOGIC = {"and": _and, "or": _or, "xor": _xor, "implies": _implies}
_ORDERS: dict[str, Callable[[int], bool]] = {
    "<": lambda n: n < 0,
    ">": lambda n: n > 0,
    "<=": lambda n: n <= 0,
    ">=": lambda n: n >= 0,
}


def _do(part: Part) -> Built:
    word, (one, other) = part.word, part.args
    if word in {"is", "as"}:
        return _of_type(word, one, wanted(type_name(other)))
    if word in _LOGIC:
        return judged(partial(_LOGIC[word], build(one).judge, build(other).judge))
    left, right = build(one).collect, build(other).collect
    if word in {"=", "!="}:
        return judged(partial(_equal, word == "!=", left, right))
    if word == "~":
        return judged(lambda i, run: equivalent(left(i, run), right(i, run)))
    if word == "!~":
        return judged(lambda i, run: not equivalent(left(i, run), right(i, run)))
    if word in _ORDERS:
        says = _ORDERS[word]
        return judged(lambda i, run: _ordered(says, compare(left(i, run), right(i, run))))
    if word == "|":
        return collected(lambda i, run: distinct(left(i, run) + right(i, run)))
    if word == "in":
        return judged(lambda i, run: _member(left(i, run), right(i, run)))
    if word == "contains":
        return judged(lambda i, run: _member(right(i, run), left(i, run)))
    if word == "&":
        return collected(lambda i, run: _paid(sums.joined(text(left(i, run)) or "", text(right(i, run)) or ""), run))
    return collected(lambda i, run: _paid(sums.worked_out(word, left(i, run), right(i, run)), run))


def _paid(items: Items, run: Run) -> Items:
    """What was worked out, its size counted."""
    value = items[0][0] if items else None
    run.spend(len(value) // 16 + 1 if isinstance(value, str) else 1)
    return items


def _ordered(says: Callable[[int], bool], order: int | None) -> bool | None:
    return None if order is None else says(order)


def _equal(negated: bool, left: Collect, right: Collect, items: Items, run: Run) -> bool | None:
    one, other = left(items, run), right(items, run)
    if len(one) == 1 == len(other):
        (a, its_type, _), (b, other_type, _) = one[0], other[0]
        if isinstance(a, str) and isinstance(b, str) and kind_of(its_type) == "String" == kind_of(other_type):
            return (a == b) is not negated
    run.spend(len(one))
    answer = equal(one, other)
    return None if answer is None else answer is not negated


def _member(one: Items, others: Items) -> bool | None:
    item = single(one)
    if item is None:
        return None
    wanted_key = key(item)
    return any(key(other) == wanted_key for other in others)


def _of_type(word: str, before: Part, name: str) -> Built:
    call = Part("call", word, (Part("name", name),))
    return _step(Part("step", "", (before, call)))


_MAKERS: dict[str, Callable[[Part], Built]] = {
    "literal": _literal,
    "empty": lambda part: constant([]),
    "self": _self,
    "constant": _constant,
    "name": _name,
    "call": lambda part: call(part, build),
    "step": _step,
    "index": _index,
    "sign": _sign,
    "do": _do,
}
