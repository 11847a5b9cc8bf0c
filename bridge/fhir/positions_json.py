"""Where the elements of a JSON file begin, by the paths that issues name.

One scan over the signs of the file; what no path leads to is passed over. The scan believes that the file was read
before, and ends early rather than fail where it was not.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from sys import intern

_TOKEN = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"|[{}\[\],:]|[^\s"{}\[\],:]+', re.DOTALL)
_TEXT = r'"[^"\\]*+(?:\\.[^"\\]*+)*+"'
_BRACKET = re.compile(_TEXT + r"|[{}\[\]]", re.DOTALL)
_UNUSUAL = re.compile(
    _TEXT + r"|NaN|-?Infinity|-?[0-9][0-9.eE+-]{39,}+|-?[0-9][0-9.]{0,39}+[eE][0-9+-]{1,39}+", re.DOTALL
)
"""Words that are no numbers, long ones, and those with an exponent; all the others are passed over quickly."""
_STEP = re.compile(r"[.\[][^.\[]*")
Wanted = dict[tuple[int, str], int]
"""Places by the place they stand in and their step below it; 0 is the outermost object."""
MOST_NAME = 60
"""Signs of a key that a path quotes."""


def locate_json(content: bytes, paths: set[str]) -> dict[str, tuple[int, int]]:
    """Line and column, from 1 and in characters, of the key of each path, or of the item where it is one of a list.

    A path that is not there is told where the nearest one around it is; `birthDate` also where `_birthDate` is. Of a
    key that is given twice the last counts. A path is left out only where there is no object at all.
    """
    text = content.removeprefix(b"\xef\xbb\xbf").decode("utf-8", "replace")
    wanted: Wanted = {}
    for path in paths:
        place = 0
        for step in _steps(path):
            place = wanted.setdefault((place, step), len(wanted) + 1)
    found, twins = _scan(text, wanted)
    if not found:
        return {}
    starts = [0, *(match.end() for match in re.finditer("\n", text))]
    located = {}
    for path in paths:
        place, at = 0, found[0]
        for step in _steps(path):
            place = wanted[place, step]
            at = found.get(place, twins.get(place, at))
        line = bisect_right(starts, at)
        located[path] = line, at - starts[line - 1] + 1
    return located


def locate_first(text: str, *, number: Callable[[str], bool] | None = None, level: int = 0) -> tuple[int, int] | None:
    """Line and column of the first unusual number that fits, or of what opens the level; both outside of texts."""
    depth = 0
    for token in (_UNUSUAL if number else _BRACKET).finditer(text):
        sign = token[0]
        depth += (sign in "{[") - (sign in "}]")
        if (level and depth >= level) or (number and sign[0] != '"' and number(sign)):
            at = token.start()
            return text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)
    return None


def _steps(path: str) -> Iterator[str]:
    """`.name` and `[0]`: the path in pieces, without the name of the outermost resource."""
    return (intern(found[0]) for found in _STEP.finditer(path))


def _scan(text: str, wanted: Wanted) -> tuple[dict[int, int], dict[int, int]]:
    """Offsets of the wanted places, as far as the file has them, and of their twins with or without underscore."""
    found: dict[int, int] = {}
    twins: dict[int, int] = {}
    below: dict[int, list[int]] = {}
    tokens = _TOKEN.finditer(text)
    stack: list[tuple[int, int]] = []  # objects (-1) and lists (the next index) that are open, with their places
    for token in tokens:
        sign = token[0][0]
        if not stack:
            if sign not in "{[":
                break
            found[0] = token.start()
            stack.append((0, -1 if sign == "{" else 0))
            continue
        place, index = stack[-1]
        if sign in "}]":
            stack.pop()
            if not stack:
                break
            continue
        if sign in ",:":
            continue
        if index < 0:
            name, at = _name(token[0]), token.start()
            twin = wanted.get((place, f".{name[1:]}" if name[:1] == "_" else f"._{name}"))
            if twin is not None:
                twins[twin] = at
                below.setdefault(place, []).append(twin)
            inner = _inner(wanted, place, name)
            colon, value = next(tokens, None), next(tokens, None)
            if value is None or colon is None or colon[0] != ":":
                break
        else:
            inner, at, value = wanted.get((place, f"[{index}]")), token.start(), token
            stack[-1] = place, index + 1
        opens = value[0] if value[0] in "{[" else ""
        if inner is None:
            if opens and not _passed(tokens):
                break
            continue
        if inner in found:
            _forget(inner, below, found, twins)
        else:
            below.setdefault(place, []).append(inner)
        found[inner] = at
        if opens:
            stack.append((inner, -1 if opens == "{" else 0))
    return found, twins


def _inner(wanted: Wanted, place: int, name: str) -> int | None:
    """The place of a key, which may hold the signs that part the steps of a path."""
    if "." not in name and "[" not in name:
        return wanted.get((place, f".{name}"))
    inner: int | None = place
    for step in _steps(f".{name}"):
        inner = None if inner is None else wanted.get((inner, step))
    return inner


def _forget(place: int, below: dict[int, list[int]], *known: dict[int, int]) -> None:
    """Drops what was found below a place, for the key is given again."""
    waiting = below.pop(place, [])
    while waiting:
        old = waiting.pop()
        for offsets in known:
            offsets.pop(old, None)
        waiting += below.pop(old, [])


def _passed(tokens: Iterator[re.Match[str]]) -> bool:
    """Passes over the rest of an object or list that has just been opened; False where it does not end."""
    depth = 1
    for token in tokens:
        sign = token[0]
        if sign in "{[":
            depth += 1
        elif sign in "}]":
            depth -= 1
            if not depth:
                return True
    return False


def _name(token: str) -> str:
    """The key as paths spell it."""
    if "\\" in token:
        try:
            return str(json.loads(token))[:MOST_NAME]
        except ValueError:
            pass
    return token[1:-1][:MOST_NAME]
