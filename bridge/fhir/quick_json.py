"""Reads JSON of which nothing is to be told; whatever is in doubt is left to the careful reader (`read_json`).

The data is the same, type by type. That nothing was lost on the way in is shown by writing it out again. Where that
gives the very bytes, as it does for files in either common form, there is nothing to doubt. Elsewhere:

- a key given twice would lose two quotation marks at least, and `-0` its minus, so both are counted; escapes that
  could make up for them are looked for;
- whole numbers that are kept as Decimal for their length do not fit into 53 bits, which the writer refuses;
- with too many levels the data does not fit into what the writer's own limit leaves, wrapped in lists as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from typing import Any, NamedTuple

MOST_BYTES = 2_000_000
"""Of a larger file the writer could take more memory than is right: it sets aside some 260 bytes for each entry."""
_COUNTED = re.compile(rb"\\u002[2dD]")
_MOST_SIGNS = 20
"""Signs of a number with a point; a longer one is looked at carefully."""
_MOST_INDENTED = 400_000
"""Bytes of a file that is compared indented: hostile data of a few signs for each line would swell a hundredfold."""


class _DoubtError(ValueError):
    pass


class _Tools(NamedTuple):
    decode: Callable[[bytes], Any]
    compact: Callable[[Any], bytes]
    """One line; ValueError for what is nested more than the limit less `spare`."""
    indented: Callable[[Any], bytes]
    spare: int
    """Levels to put around the data so that its own may be as many as the limit."""


def quick_json(content: bytes, max_depth: int) -> dict[str, Any] | None:
    """The object in a file; None where a careful reader has to look, which need not mean a fault."""
    tools = _tools(max_depth) if len(content) <= MOST_BYTES else None
    if tools is None:
        return None
    try:
        data = tools.decode(content)
        if type(data) is dict and (_as_indented(data, content, max_depth, tools) or _as_read(data, content, tools)):
            return data
    except (ValueError, TypeError, RecursionError):
        pass
    return None


def _as_indented(data: Any, content: bytes, max_depth: int, tools: _Tools) -> bool:
    """Whether these are the bytes of the data with two blanks for each level, and no level beyond the limit."""
    if content[:4] != b"{\n  " or content[4:5] != b'"' or len(content) > _MOST_INDENTED:
        return False
    return tools.indented(data) == content.rstrip() and b" " * (2 * max_depth + 1) not in content


def _as_read(data: Any, content: bytes, tools: _Tools) -> bool:
    wrapped = data
    for _ in range(tools.spare):
        wrapped = [wrapped]
    again = tools.compact(wrapped)[tools.spare : -tools.spare or None]
    if again == content:
        return True
    counted = all(again.count(sign) == content.count(sign) for sign in (b'"', b"-"))
    return counted and not (b"\\u002" in content and _COUNTED.search(content))


@cache
def _tools(max_depth: int) -> _Tools | None:
    import msgspec
    import orjson

    def compact(data: Any) -> bytes:
        return orjson.dumps(data, default=_written, option=orjson.OPT_STRICT_INTEGER)

    def indented(data: Any) -> bytes:
        return orjson.dumps(data, default=_written, option=orjson.OPT_STRICT_INTEGER | orjson.OPT_INDENT_2)

    def _written(value: Any) -> Any:
        return orjson.Fragment(f"{value:f}")

    levels = _most_levels(compact)
    if levels < max_depth:
        return None
    return _Tools(msgspec.json.Decoder(float_hook=_decimal).decode, compact, indented, levels - max_depth)


def _most_levels(compact: Callable[[Any], bytes]) -> int:
    """How many levels of lists the writer takes."""
    data: list[Any] = []
    for levels in range(1, 2_000):
        try:
            compact(data)
        except (ValueError, TypeError):
            return levels - 1
        data = [data]
    return 0


def _decimal(text: str) -> Decimal:
    if len(text) > _MOST_SIGNS or "e" in text or "E" in text:
        raise _DoubtError
    return Decimal(text)
