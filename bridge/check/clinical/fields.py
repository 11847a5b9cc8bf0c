"""Fields of a visit as rules name them: `visit.start`, `ear.before.wax.percent`, `other.symptoms`, `item.place.depth`,
`work.method`. Lists on the way are flattened, and what was read once is kept in the context."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from operator import attrgetter
from types import NoneType, UnionType
from typing import Any, NamedTuple, Union, get_args, get_origin

from pydantic import BaseModel

from bridge.check.clinical.context import EAR, ITEM, VISIT, Context
from bridge.fhir.systems import OWN
from bridge.visit import EarRecord, Term, Visit, Work

ROOTS = {"visit": VISIT, "ear": EAR, "other": EAR, "item": ITEM, "work": ITEM}
ATTRIBUTES = {"visit": "visit", "ear": "record", "other": "other", "item": "item", "work": "work"}
_MODELS: dict[str, type[BaseModel]] = {"visit": Visit, "ear": EarRecord, "other": EarRecord, "work": Work}


class UnknownFieldError(ValueError):
    """A field that the visit does not have; says which."""


class Stated(NamedTuple):
    """A term that a field holds: its meanings, what is said of it, and the item that it belongs to."""

    concepts: frozenset[str]
    said: str
    """present, suspected, absent or past."""
    term: Term
    item: Any


@dataclass(frozen=True)
class Field:
    """A field by its name; equal names are equal fields."""

    name: str

    @property
    def root(self) -> str:
        return self.name.partition(".")[0]

    @property
    def level(self) -> int:
        return ROOTS[self.root]

    def path(self, context: Context) -> str:
        """Where the field stands in the visit that is looked at (`right.before.wax.percent`).

        For a field of an ear where no ear is looked at: what is.
        """
        inner = self.name.partition(".")[2]
        if context.ear is None and self.root in ("ear", "other"):
            return context.path
        other = {"right": "left", "left": "right"}.get(context.ear or "", "")
        start = {"visit": "", "ear": context.ear or "", "other": other, "item": context.path, "work": context.work_path}
        return ".".join(part for part in (start[self.root], inner) if part)


@cache
def level_of(field: str) -> int:
    """How far in a field looks: VISIT, EAR or ITEM."""
    return ROOTS[field.partition(".")[0]]


_NO_HISTORY = frozenset({"past-none"})
_NONE: Sequence[Any] = ()
Reader = Callable[[Context], Sequence[Any]]


def values(field: str, context: Context) -> Sequence[Any]:
    """All that the field holds, in order; empty where nothing is recorded. Not to be changed."""
    return reader(field)(context)


@cache
def reader(field: str) -> Reader:
    """The function that gives all that the field holds, made once; most of what rules cost is reading."""
    outer, _, name = field.rpartition(".")
    if not outer:
        return _root(ATTRIBUTES[name])
    holders, level = reader(outer), level_of(field)

    def read(context: Context) -> Sequence[Any]:
        memo = context.memos[level]
        found: Sequence[Any] | None = memo.get(field)
        if found is None:
            above = holders(context)
            found = memo[field] = inside(above, name) if above else _NONE
        return found

    return read


def _root(attribute: str) -> Reader:
    get = attrgetter(attribute)

    def read(context: Context) -> Sequence[Any]:
        value = get(context)
        return _NONE if value is None else (value,)

    return read


def inside(holders: Sequence[BaseModel], name: str) -> Sequence[Any]:
    """All that a field of these holds, lists flattened. A model's own dictionary is the fastest to ask, most of all for
    what it does not have."""
    if len(holders) == 1:
        value = holders[0].__dict__.get(name)
        return _NONE if value is None else value if type(value) is tuple else (value,)
    found: list[Any] = []
    for holder in holders:
        value = holder.__dict__.get(name)
        if type(value) is tuple:
            found += value
        elif value is not None:
            found.append(value)
    return found


def stated(field: str, context: Context, held: Sequence[Any] | None = None) -> tuple[Stated, ...]:
    """The terms that the field holds, or that its items are named by; `held`: its values, where they are known."""
    memo = context.memos[level_of(field)]
    found: tuple[Stated, ...] | None = memo.get((field, "terms"))
    if found is None:
        held = values(field, context) if held is None else held
        found = memo[field, "terms"] = tuple(_statements(held)) if held else ()
    return found


def _statements(held: Sequence[Any]) -> Iterator[Stated]:
    """What each says; all are of one type."""
    name = _name_of(type(held[0]))
    for value in held:
        term = value.__dict__[name] if name else value
        concepts = frozenset([coding.code for coding in term.codings if coding.system == OWN])
        said = term.assertion or "present"
        if said == "past" and not concepts.isdisjoint(_NO_HISTORY):
            said = "present"  # a history of nothing is told as past, as all of a history is
        yield Stated(concepts, said, term, value)


def _name_of(kind: Any) -> str:
    name = named_by(kind)
    if name is None:
        raise TypeError(f"a {kind.__name__} is named by no term")
    return name


class Said(NamedTuple):
    """The meanings that a field names as there, suspected, absent and past, and all of them."""

    present: frozenset[str] = frozenset()
    suspected: frozenset[str] = frozenset()
    absent: frozenset[str] = frozenset()
    past: frozenset[str] = frozenset()
    all: frozenset[str] = frozenset()


_NOTHING = Said()


def said_in(field: str, context: Context) -> Said:
    """The meanings that the field names."""
    memo = context.memos[level_of(field)]
    found: Said | None = memo.get((field, "said"))
    if found is None:
        terms = stated(field, context)
        found = memo[field, "said"] = _said(terms) if terms else _NOTHING
    return found


def _said(terms: tuple[Stated, ...]) -> Said:
    by: dict[str, frozenset[str]] = {}
    for one in terms:
        before = by.get(one.said)
        by[one.said] = one.concepts if before is None else before | one.concepts
    none = frozenset[str]()
    every = next(iter(by.values())) if len(by) == 1 else none.union(*by.values())
    return Said(by.get("present", none), by.get("suspected", none), by.get("absent", none), by.get("past", none), every)


_NAMED_BY = ("term", "name", "method")


def term_of(item: Any) -> Term:
    """The term that an item is, or is named by: a finding's, a product's name, the method of work."""
    name = _name_of(type(item))
    term: Term = getattr(item, name) if name else item
    return term


@cache
def named_by(kind: Any) -> str | None:
    """The field that holds the term which things of this type are named by; "" for terms, None where there is none."""
    if kind is Term:
        return ""
    known = _types(kind) if issubclass(kind, BaseModel) else {}
    return next((name for name in _NAMED_BY if known.get(name) is Term), None)


_Step = tuple[Any, str, Any, str]
"""A thing on the way, its path, and the work that it stands in with its path."""


def items(field: str, context: Context) -> Iterator[Context]:
    """A context for each item of a list field, with its path and the work that it stands in."""
    if not values(field, context):
        return
    root, *names = field.split(".")
    start = getattr(context, ATTRIBUTES[root])
    at: list[_Step] = [(start, context.ear or "" if root == "ear" else "", None, "")]
    for name in names:
        inner: list[_Step] = []
        for holder, path, work, work_path in at:
            value = holder.__dict__.get(name)
            where = f"{path}.{name}" if path else name
            if type(value) is tuple:
                for nth, item in enumerate(value):
                    here = f"{where}[{nth}]"
                    inner.append((item, here, item, here) if type(item) is Work else (item, here, work, work_path))
            elif value is not None:
                inner.append((value, where, work, work_path))
        at = inner
    for item, path, work, work_path in at:
        yield context.at_item(item, path, work, work_path)


@cache
def type_of(field: str, each: type[Any] | None) -> Any:
    """What a field holds, lists and None taken off: a model, or str, int, ... Raises UnknownFieldError.

    `each`: the type of the rule's item.
    """
    root, *names = field.split(".")
    if root not in ROOTS or (root == "item" and each is None):
        raise UnknownFieldError(f"“{field[:60]}” does not begin with {', '.join(ROOTS)}")
    found: Any = each if root == "item" else _MODELS[root]
    for name in names:
        inner = _types(found).get(name) if isinstance(found, type) and issubclass(found, BaseModel) else None
        if inner is None:
            raise UnknownFieldError(f"a visit has no field “{field[:60]}”")
        found = inner
    return found


def has_items(field: str) -> bool:
    """Whether a field can be looked at item by item: a list, a part of the record, or something in one.
    What a visit or an ear says once in one word, as its start, has none."""
    outer, _, name = field.rpartition(".")
    annotation = _fields(type_of(outer, None)).get(name) if outer else None
    found = type_of(field, None)
    part = isinstance(found, type) and issubclass(found, BaseModel)
    return "." in outer or part or get_origin(annotation) is tuple


@cache
def _fields(model: type[BaseModel]) -> dict[str, Any]:
    return {name: field.annotation for name, field in model.model_fields.items()}


@cache
def _types(model: type[BaseModel]) -> dict[str, Any]:
    """The fields of a model that rules may name; of a term, its words alone."""
    known = {name: _bare(annotation) for name, annotation in _fields(model).items()}
    return {"text": known["text"]} if model is Term else known


def _bare(annotation: Any) -> Any:
    """The type inside of an optional, a list or an annotated one; of several, the first."""
    origin = get_origin(annotation)
    if origin in (Union, UnionType):
        return _bare(next(a for a in get_args(annotation) if a is not NoneType))
    if origin is tuple or hasattr(annotation, "__metadata__"):
        return _bare(get_args(annotation)[0])
    return annotation
