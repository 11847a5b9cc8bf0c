"""What of a resource has no element in CDA: each such part as an observation of its own, named by where it stands.

    beside = rest_of(resource, resource_of(written))     # observations that say the difference
    resource = with_rest(read, observations)             # the resource as it was

Narratives are left out (`LEFT_OUT`): in CDA they stand in the sections.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import Any

from bridge.cda.oids import template
from bridge.cda.values import bl, cd, concept_of, identifier_of, ii, st, value_of
from bridge.cda.xml import Node, name_of, node, one, type_of, typed
from bridge.shapes import Json

REST = template("element of a resource")
PATHS = template("paths of elements")
LEFT_OUT = frozenset({"text", "meta"})
"""Of each resource: the narrative, and claims of profiles, which are of FHIR alone."""
MAX_DEPTH = 24
_GONE, _NULL = object(), object()
"""What is read and should not be, and the empty place that JSON has in lists beside simple values."""
_STEP = re.compile(r"(\w{1,64})((?:\[\d{1,5}\])*)")
_NAME = re.compile(r"\w{1,64}")


def rest_of(resource: Json, read: Json) -> list[Node]:
    """An observation for each part of the resource that `read` has not, or has otherwise."""
    wanted = {key: value for key, value in resource.items() if key not in LEFT_OUT}
    found = {key: value for key, value in read.items() if key not in LEFT_OUT}
    return [_observation(path, value) for path, value in _difference("", wanted, found, 0)]


def with_rest(read: Json, observations: list[Node]) -> Json:
    """The resource that was read, with what the observations say; those that are none of ours are passed over."""
    for found in observations:
        if is_rest(found):
            code = one(found, "code")
            _put(read, "" if code is None else str(code.get("code")), _value(one(found, "value")))
    return read


def is_rest(found: Node) -> bool:
    """Whether an element is an observation of `rest_of`."""
    place = one(found, "templateId")
    ours = place is not None and place.get("root") == REST
    return name_of(found) == "observation" and ours and one(found, "code") is not None


def _observation(path: str, value: Any) -> Node:
    return node(
        "observation",
        node("templateId", root=REST),
        node("code", code=path, codeSystem=PATHS),
        node("statusCode", code="completed"),
        _written(value),
        classCode="OBS",
        moodCode="EVN",
    )


def _written(value: Any) -> Node:
    if value is _GONE:
        return typed(node("value", nullFlavor="NA"), "CD")
    if value is _NULL:
        return typed(node("value", nullFlavor="NI"), "CD")
    if isinstance(value, bool):
        return bl("value", value)
    if isinstance(value, int | float | Decimal):
        return typed(node("value", value=str(value)), "INT" if isinstance(value, int) else "REAL")
    if isinstance(value, str):
        return st("value", value)
    return _whole(value)


def _whole(value: Any) -> Node | None:
    """A concept, or an identifier, as one value of its type where that says it exactly."""
    if not isinstance(value, dict):
        return None
    concept = cd("value", value, "CD")
    if concept_of(concept) == value:
        return concept
    identifier = ii("value", value)
    return typed(identifier, "II") if identifier is not None and identifier_of(identifier) == value else None


_NULLS = {"NA": _GONE, "NI": _NULL}


def _value(found: Node | None) -> Any:
    kind = "" if found is None else type_of(found)
    null = None if found is None else found.get("nullFlavor")
    if kind == "CD" and null in _NULLS:
        return _NULLS[null]
    return concept_of(found) if kind == "CD" else identifier_of(found) if kind == "II" else value_of(found)


def _difference(path: str, wanted: Any, found: Any, depth: int) -> Iterator[tuple[str, Any]]:
    if depth > MAX_DEPTH or _same(wanted, found):
        return
    if isinstance(wanted, dict):
        if found is None and _whole(wanted) is not None:
            yield path, wanted
            return
        other = found if isinstance(found, dict) else {}
        for key in sorted(k for k in wanted if _NAME.fullmatch(k)):
            yield from _difference(f"{path}.{key}" if path else key, wanted[key], other.get(key), depth + 1)
        for key in sorted(other.keys() - wanted.keys()):
            yield (f"{path}.{key}" if path else key), _GONE
    elif isinstance(wanted, list):
        others = found if isinstance(found, list) else []
        for index, item in enumerate(wanted):
            there, place = index < len(others), f"{path}[{index}]"
            if item is None and not there:
                yield place, _NULL
            else:
                yield from _difference(place, item, others[index] if there else None, depth + 1)
        for index in range(len(others) - 1, len(wanted) - 1, -1):
            yield f"{path}[{index}]", _GONE
    elif wanted is not None:
        yield path, wanted


def _same(wanted: Any, found: Any) -> bool:
    """Whether two values are one, numbers by their digits and never true for 1."""
    numbers = (int, float, Decimal)
    if isinstance(wanted, numbers) and isinstance(found, numbers):
        return str(wanted) == str(found)
    return bool(wanted == found) and type(wanted) is type(found)


def _steps(path: str) -> list[str | int]:
    steps: list[str | int] = []
    for part in path.split("."):
        found = _STEP.fullmatch(part)
        if found is None:
            return []
        steps += [found[1], *(int(number) for number in re.findall(r"\d+", found[2]))]
    return steps if len(steps) <= 2 * MAX_DEPTH else []


def _put(resource: Json, path: str, value: Any) -> None:
    """Sets a part of the resource; a path that does not fit what is there is passed over."""
    steps = _steps(path)
    if not steps or value is None:
        return
    place: Any = resource
    for step, following in pairwise(steps):
        empty: Any = [] if isinstance(following, int) else {}
        if not _opened(place, step, empty):
            return
        if type(place[step]) is not type(empty):
            place[step] = empty
        place = place[step]
    last = steps[-1]
    if value is _GONE:
        if isinstance(place, dict):
            place.pop(last, None)
        elif isinstance(place, list) and isinstance(last, int):
            place[last : last + 1] = []
    elif _opened(place, last, value):
        place[last] = None if value is _NULL else value


def _opened(place: Any, step: str | int, empty: Any) -> bool:
    """Whether there is such a place in it, made if need be: a list grows by one at a time."""
    if isinstance(place, dict) and isinstance(step, str):
        place.setdefault(step, empty)
        return True
    if isinstance(place, list) and isinstance(step, int) and step <= len(place):
        if step == len(place):
            place.append(empty)
        return True
    return False
