"""From what a file says of a question to the question."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal, InvalidOperation
from functools import cache, partial
from inspect import Signature, signature
from typing import Any, get_args

from pydantic import BaseModel

from bridge.check.clinical.asked import Function, functions
from bridge.check.clinical.faults import Faults, unfit
from bridge.check.clinical.fields import ROOTS, UnknownFieldError, type_of
from bridge.check.clinical.kind_terms import Denial, Terms
from bridge.check.clinical.kinds_numbers import Count, More, Number
from bridge.check.clinical.kinds_record import Age, Choice, Later, Recorded, words_in
from bridge.check.clinical.kinds_stated import Meaning, States
from bridge.check.clinical.moments_between import UNITS
from bridge.check.clinical.question import Question
from bridge.check.clinical.signs import Signs, no_signs
from bridge.visit import Measure, Size, Term

Spec = Mapping[str, Any]
Meanings = Mapping[str, frozenset[str]]
"""Groups and single concepts by name, with the concepts that each stands for."""

MEASURED = frozenset(get_args(Measure.model_fields["unit"].annotation))
_COUNTS = ("yes", "no", "ask", "ignored")
_NAMED_BY = ("term", "name", "method")
_MOMENTS = ("onset", "date", "ended", "since", "start")
"""Fields by which items of a record are dated."""
_LARGEST = Decimal(10) ** 9
_SMALLEST_STEP = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Making:
    """What a question is made with: the meanings known, where faults go, and the place in the file."""

    meanings: Meanings
    faults: Faults
    place: str
    own: bool = False
    """Whether it is a practice's own, which may not call functions."""

    def fault(self, key: str, reason: str) -> None:
        self.faults.add(f"{self.place}.{key}" if key else self.place, reason)

    def means(self, key: str, names: Any) -> frozenset[str]:
        found: set[str] = set()
        for name in texts(names):
            if name in self.meanings:
                found |= self.meanings[name]
            else:
                self.fault(key, f"“{name[:60]}” is neither a group nor a meaning of the term maps")
        if not found and not texts(names):
            self.fault(key, "names no meaning")
        return frozenset(found)


def texts(value: Any) -> list[str]:
    """A text or a list of texts as a list; YAML's own yes and no as those words."""
    listed = value if isinstance(value, list) else [] if value is None else [value]
    return [("yes" if v else "no") if isinstance(v, bool) else str(v) for v in listed]


def compile_question(name: str, spec: Any, making: Making) -> Question | None:
    """The question; None where it has faults, which stand in `making.faults` then."""
    before = len(making.faults._found)
    if not isinstance(spec, dict):
        making.fault("", "is no question: it needs `asks` and one kind")
        return None
    kinds = [key for key in spec if key in _KINDS and not (key == "by" and "later" in spec)]
    if len(kinds) != 1:
        known = ", ".join(_KINDS)
        making.fault("", f"has {'two kinds' if kinds else 'no kind'}; a question has one of {known}")
        return None
    if not isinstance(spec.get("asks"), str) or not spec["asks"].strip():
        making.fault("asks", "has no `asks`, the words for what it asks")
    elif problem := unfit(spec["asks"]):
        making.fault("asks", f"`asks` {problem}")
    kind = _KINDS[kinds[0]]
    for key in spec:
        if key not in (*kind.keys, "asks", kinds[0]):
            making.fault(key, f"`{str(key)[:60]}` is nothing that a question of the kind `{kinds[0]}` has")
    made = None
    try:
        made = kind.make(spec, making)
    except (TypeError, ValueError, InvalidOperation, AttributeError, LookupError) as error:
        making.fault(kinds[0], f"is not understood ({type(error).__name__})")
    if made is None or len(making.faults._found) > before:
        return None
    asking, reads = made
    showing = getattr(asking, "label", None) or getattr(asking, "told", None)
    return Question(
        name,
        spec["asks"],
        tuple(dict.fromkeys(reads)),
        asking.answer if hasattr(asking, "answer") else asking,
        **({"showing": showing} if showing else {}),
        **({"torn": asking.torn} if hasattr(asking, "torn") else {}),
        about_record=_about_record(kinds[0], spec),
        wakes=_wakes(kinds[0], spec, asking),
        sure=kinds[0] == "recorded" and not spec.get("all"),
    )


def _about_record(kind: str, spec: Spec) -> bool:
    if kind == "by":
        return functions()[spec["by"]].about_record
    return kind in ("recorded", "words", "stated")


def _wakes(kind: str, spec: Spec, asking: Any) -> Callable[[], Signs | None]:
    if kind == "by":
        return partial(functions()[spec["by"]].wakes, **(spec.get("with") or {}))
    return getattr(asking, "wakes", no_signs)


def check_reads(question: Question, each: Any) -> str:
    """What is wrong with the fields of a question for a rule whose items are of this type; empty where nothing is."""
    for read in question.reads:
        try:
            type_of(read, each)
        except UnknownFieldError as error:
            return str(error)
    return ""


Made = tuple[Any, Iterable[str]]


def _fields(making: Making, key: str, value: Any, fits: Callable[[Any], bool], wanted: str) -> tuple[str, ...]:
    """Field names; those of the visit or an ear are looked up at once, those of an item when a rule uses them."""
    names = texts(value)
    for name in names:
        root = name.partition(".")[0]
        if root not in ROOTS:
            making.fault(key, f"“{name[:60]}” does not begin with {', '.join(ROOTS)}")
        elif root != "item":
            try:
                if not fits(type_of(name, None)):
                    making.fault(key, f"“{name[:60]}” holds no {wanted}")
            except UnknownFieldError as error:
                making.fault(key, str(error))
    if not names:
        making.fault(key, "names no field")
    return tuple(names)


def _is_model(found: Any) -> bool:
    return isinstance(found, type) and issubclass(found, BaseModel)


def _has_term(found: Any) -> bool:
    return found is Term or (_is_model(found) and any(n in found.model_fields for n in _NAMED_BY))


def _has_answer(found: Any) -> bool:
    return _is_model(found) and "answer" in found.model_fields


def _is_number(found: Any) -> bool:
    return found in (int, Decimal, Measure, Size)


def _anything(found: Any) -> bool:
    return True


def _plain(found: Any) -> bool:
    return not _is_model(found) or found is Term


def _length(making: Making, key: str, value: Any) -> dict[str, int]:
    if not isinstance(value, dict) or len(value) != 1 or not set(value) <= set(UNITS):
        making.fault(key, f"needs one of {', '.join(UNITS)} with a number")
        return {}
    ((unit, number),) = value.items()
    if not isinstance(number, int) or isinstance(number, bool) or not 0 <= number <= 100_000:
        making.fault(key, f"has no whole number of {unit}")
        return {}
    return {unit: number}


def _terms(spec: Spec, making: Making) -> Made:
    inner = {"no" if key is False else key: value for key, value in spec["terms"].items()}  # YAML takes `no:` for False
    known = {"in", "mean", "no", "suspected", "past", "dated", "within", "longer_ago"}
    for key in set(inner) - known:
        making.fault(f"terms.{key}", f"`{key}` is nothing that `terms` has")
    names = _fields(making, "terms.in", inner.get("in"), _has_term, "term")
    denials = []
    for number, one in enumerate(inner.get("no") or ()):
        at = f"terms.no[{number}]"
        if "answer" in one:
            where = _fields(making, f"{at}.answer", one["answer"], _has_answer, "answer")
            denials.append(Denial(where, answers=frozenset(texts(one.get("is")))))
        else:
            where = _fields(making, f"{at}.in", one.get("in"), _has_term, "term")
            denials.append(Denial(where, means=making.means(f"{at}.mean", one.get("mean"))))
    counts = {key: texts(inner[key])[0] for key in ("suspected", "past") if key in inner}
    for key, value in counts.items():
        if value not in _COUNTS:
            making.fault(f"terms.{key}", f"is none of {', '.join(_COUNTS)}")
    windows = {k: _length(making, f"terms.{k}", inner[k]) for k in ("within", "longer_ago") if k in inner}
    dated = tuple(texts(inner.get("dated")))
    if bool(dated) != (len(windows) == 1):
        making.fault("terms.dated", "`dated` and one of `within` and `longer_ago` go together")
    for name in dated:
        if name not in _MOMENTS:
            making.fault("terms.dated", f"“{name[:60]}” is none of {', '.join(_MOMENTS)}")
    made = Terms(names, making.means("terms.mean", inner.get("mean")), tuple(denials), dated=dated, **counts, **windows)  # type: ignore[arg-type]
    return made, [*names, *(f for d in denials for f in d.fields)]


def _stated(spec: Spec, making: Making) -> Made:
    inner = spec["stated"]
    _known(inner, ("in", "mean", "normal", "suspected"), "stated", making)
    names = _fields(making, "stated.in", inner.get("in"), _has_term, "term")
    normal = _fields(making, "stated.normal", inner["normal"], _has_answer, "answer") if "normal" in inner else ()
    suspected = texts(inner.get("suspected", "ask"))[0]
    if suspected not in ("yes", "no", "ask"):
        making.fault("stated.suspected", "is none of yes, no, ask")
    made = States(names, making.means("stated.mean", inner.get("mean")), normal, suspected)  # type: ignore[arg-type]
    return made, [*names, *normal]


def _meaning(spec: Spec, making: Making) -> Made:
    inner = spec["meaning"]
    _known(inner, ("in", "mean"), "meaning", making)
    names = _fields(making, "meaning.in", inner.get("in"), _has_term, "term")
    return Meaning(names, making.means("meaning.mean", inner.get("mean"))), names


def _known(inner: Spec, keys: tuple[str, ...], kind: str, making: Making) -> None:
    for key in inner:
        if key not in keys:
            making.fault(f"{kind}.{key}", f"`{str(key)[:60]}` is nothing that `{kind}` has")


def _number(spec: Spec, making: Making) -> Made:
    (name,) = _fields(making, "number", spec["number"], _is_number, "number")
    unit = str(spec.get("unit", "mm" if "scale" in spec else ""))
    if unit and unit not in MEASURED:
        making.fault("unit", f"“{unit[:20]}” is no unit that is known")
    limits = {k: Decimal(str(spec[k])) for k in ("above", "below", "at_least", "at_most", "multiple_of") if k in spec}
    for key, limit in limits.items():
        if not -_LARGEST <= limit <= _LARGEST:
            making.fault(key, f"`{key}` is no number that a record could hold")
    if limits.get("multiple_of", Decimal(1)) < _SMALLEST_STEP:
        making.fault("multiple_of", f"`multiple_of` is no number from {_SMALLEST_STEP}")
    if not limits and not spec.get("whole"):
        making.fault("number", "has no limit (above, below, at_least, at_most, multiple_of, whole)")
    return Number(name, unit, whole=bool(spec.get("whole")), **limits), [name]


def _choice(spec: Spec, making: Making) -> Made:
    (name,) = _fields(making, "choice", spec["choice"], _plain, "single word or number")
    said = spec.get("is")
    listed = said if isinstance(said, list) else [said]
    if said is None:
        making.fault("is", "says no value to compare with")
    return Choice(name, frozenset(listed)), [name]


def _pair(key: str, spec: Spec, making: Making, fits: Callable[[Any], bool], wanted: str) -> tuple[str, str]:
    names = _fields(making, key, spec[key], fits, wanted)
    if len(names) != 2:
        making.fault(key, "needs two fields")
        return "", ""
    return names[0], names[1]


def _later(spec: Spec, making: Making) -> Made:
    one, other = _pair("later", spec, making, lambda found: found is str, "moment")
    days = _length(making, "by", spec["by"]).get("days", 0) if "by" in spec else 0
    return Later(one, other, days), [one, other]


def _more(spec: Spec, making: Making) -> Made:
    one, other = _pair("more", spec, making, _is_number, "number")
    return More(one, other), [one, other]


def _age(spec: Spec, making: Making) -> Made:
    inner = spec["age"]
    if not inner or set(inner) - {f.name for f in fields(Age)}:
        making.fault("age", "needs `below` or `at_least`, in years")
        return None, []
    return Age(**{key: int(value) for key, value in inner.items()}), ["visit.client.birth_date"]


def _count(spec: Spec, making: Making) -> Made:
    (name,) = _fields(making, "count", spec["count"], _anything, "list")
    return Count(name, int(spec["at_least"])), [name]


def _recorded(spec: Spec, making: Making) -> Made:
    names = _fields(making, "recorded", spec["recorded"], _anything, "field")
    return Recorded(names, bool(spec.get("all"))), names


def _words(spec: Spec, making: Making) -> Made:
    names = _fields(making, "words", spec["words"], _plain, "text")
    said = texts(spec.get("any"))
    if not said:
        making.fault("any", "names no word")
    return words_in(names, said), names


def _by(spec: Spec, making: Making) -> Made:
    found = functions().get(str(spec["by"]))
    handed = spec.get("with") or {}
    if making.own:
        making.fault("by", "a practice's own question calls no function; name the shipped question that does")
        return None, []
    if found is None:
        making.fault("by", f"there is no function “{str(spec['by'])[:60]}” for questions")
        return None, []
    for key in set(handed) - set(found.options):
        making.fault(f"with.{key}", f"`{key}` is nothing that this function takes")
    for key, value in handed.items():
        _meant(key, value, making)
    _signature(found.function).bind(None, **handed)
    return partial(found.function, **_ready(handed, making)) if handed else found.function, found.fields


def _ready(handed: Mapping[str, Any], making: Making) -> dict[str, Any]:
    """Lists of meanings as sets."""
    meant = {key for key, value in handed.items() if isinstance(value, list) and value and value[0] in making.meanings}
    return {key: frozenset(value) if key in meant else value for key, value in handed.items()}


@cache
def _signature(function: Function) -> Signature:
    return signature(function)


def _meant(key: str, value: Any, making: Making) -> None:
    """A list that names one meaning names nothing else; other lists are words or fields."""
    names = [one for one in value if isinstance(one, str)] if isinstance(value, list) else []
    if any(name in making.meanings for name in names):
        for name in names:
            if name not in making.meanings:
                making.fault(f"with.{key}", f"“{name[:60]}” is neither a group nor a meaning of the term maps")


@dataclass(frozen=True, slots=True)
class _Kind:
    make: Callable[[Spec, Making], Made]
    keys: tuple[str, ...] = ()


_LIMITS = ("above", "below", "at_least", "at_most", "multiple_of", "whole", "unit", "scale")
_KINDS = {
    "terms": _Kind(_terms),
    "stated": _Kind(_stated),
    "meaning": _Kind(_meaning),
    "number": _Kind(_number, _LIMITS),
    "choice": _Kind(_choice, ("is",)),
    "later": _Kind(_later, ("by",)),
    "more": _Kind(_more),
    "age": _Kind(_age),
    "count": _Kind(_count, ("at_least",)),
    "recorded": _Kind(_recorded, ("all",)),
    "words": _Kind(_words, ("any",)),
    "by": _Kind(_by, ("with",)),
}
