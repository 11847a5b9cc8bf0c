"""Where the elements of a JSON file begin, by the paths that issues name.

One scan over the signs of the file; what no path leads to is passed over. The scan believes that the file was read
before, and ends early rather than fail where it was not.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator

_TOKEN = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"|[{}\[\],:]|[^\s"{}\[\],:]+', re.DOTALL)
_TEXT = r'"[^"\\]*+(?:\\.[^"\\]*+)*+"'
_BRACKET = re.compile(_TEXT + r"|[{}\[\]]", re.DOTALL)
_UNUSUAL = re.compile(
    _TEXT + r"|NaN|-?Infinity|-?[0-9][0-9.eE+-]{39,}+|-?[0-9][0-9.]{0,39}+[eE][0-9+-]{1,39}+", re.DOTALL
)
"""Words that are no numbers, long ones, and those with an exponent; all the others are passed over quickly."""
_ROOT = re.compile(r"[^.\[]*")
MOST_NAME = 60
"""Signs of a key that a path quotes."""


def locate_json(content: bytes, paths: set[str]) -> dict[str, tuple[int, int]]:
    """Line and column, from 1 and in characters, of the key of each path, or of the item where it is one of a list.

    A path that is not there is told where the nearest one around it is; `birthDate` also where `_birthDate` is. Of a
    key that is given twice the last counts. A path is left out only where there is no object at all.
    """
    text = content.removeprefix(b"\xef\xbb\xbf").decode("utf-8", "replace")
    wanted = {_inner(part) for path in paths for part in around(path)}
    found = _scan(text, wanted)
    if not found:
        return {}
    starts = [0, *(match.end() for match in re.finditer("\n", text))]
    located = {}
    for path in paths:
        at = next((found[inner] for part in around(path) if (inner := _inner(part)) in found), found[""])
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


def around(path: str) -> Iterator[str]:
    """The path, its twin with or without underscore, then each that it is part of, outwards to the resource."""
    yield path
    while (cut := max(path.rfind("."), path.rfind("["))) > 0:
        if path[cut] == ".":
            name = path[cut + 1 :]
            yield f"{path[: cut + 1]}{name[1:] if name[:1] == '_' else '_' + name}"
        path = path[:cut]
        yield path


def _inner(path: str) -> str:
    """The path without the name of the outermost resource."""
    return path[len(_ROOT.match(path)[0]) :]  # type: ignore[index]


def _scan(text: str, wanted: Iterable[str]) -> dict[str, int]:
    """Offsets of the wanted paths, as far as the file has them."""
    found: dict[str, int] = {}
    below: dict[str, list[str]] = {}
    tokens = _TOKEN.finditer(text)
    stack: list[tuple[str, int]] = []  # objects (-1) and lists (the next index) that are open, with their paths
    for token in tokens:
        sign = token[0][0]
        if not stack:
            if sign not in "{[":
                return found
            found[""] = token.start()
            stack.append(("", -1 if sign == "{" else 0))
            continue
        path, index = stack[-1]
        if sign in "}]":
            stack.pop()
            if not stack:
                return found
            continue
        if sign in ",:":
            continue
        if index < 0:
            inner = f"{path}.{_name(token[0])}"
            at = token.start()
            colon, value = next(tokens, None), next(tokens, None)
            if value is None or colon is None or colon[0] != ":":
                return found
        else:
            inner, at, value = f"{path}[{index}]", token.start(), token
            stack[-1] = path, index + 1
        opens = value[0] if value[0] in "{[" else ""
        if inner not in wanted:
            if opens and not _passed(tokens):
                return found
            continue
        if inner in found:
            _forget(inner, found, below)
        else:
            below.setdefault(path, []).append(inner)
        found[inner] = at
        if opens:
            stack.append((inner, -1 if opens == "{" else 0))
    return found


def _forget(path: str, found: dict[str, int], below: dict[str, list[str]]) -> None:
    """Drops what was found below a path, for the key is given again."""
    waiting = below.pop(path, [])
    while waiting:
        old = waiting.pop()
        found.pop(old, None)
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
