"""The items of a coded visit: every term for which a code is due, and those of open fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple, cast

from bridge.audit.shapes import Item, Side
from bridge.visit import Term, Visit, fields_with_terms

_INDEX = re.compile(r"\[\d+\]")


class Due(NamedTuple):
    """What a kind of field expects."""

    code: bool
    """Whether a code: not where any words are usual."""
    assertable: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """What is known of words in one kind of field."""

    due: bool = True
    meant: str = ""
    said: str = ""


Expects = Callable[[str], Due | None]
"""By kind of path: what is expected there; None where the field holds no terms of the maps."""
Known = Callable[[str, str], Words]
"""By kind of path and words: what is known of them."""


def visit_items(visit: Visit, expects: Expects, known: Known) -> tuple[Item, ...]:
    """Every term of a visit in the order of its fields; a coded term that could be doubted and is not, is present."""
    found: list[Item] = []
    for name in fields_with_terms(Visit):
        value = getattr(visit, name)
        if value is None or value == ():
            continue
        side: Side = name if name in ("right", "left") else ""  # type: ignore[assignment] # narrowed by the test
        for path, term in _walk(value, name):
            kind = kind_of(path)
            if due := expects(kind):
                words = known(kind, term.text)
                surely = term.assertion or ("present" if due.assertable and due.code and term.codings else "")
                found.append(Item(
                    path, kind, term.text, term.codings, "", side, surely,
                    due=due.code and words.due, meant=words.meant, said=words.said,
                ))  # fmt: skip
    return tuple(found)


def _walk(value: Any, path: str) -> Iterator[tuple[str, Term]]:
    if isinstance(value, Term):
        yield path, value
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _walk(item, f"{path}[{index}]")
    else:
        for name in fields_with_terms(cast(Hashable, type(value))):
            inner = getattr(value, name)
            if inner is not None and inner != ():
                yield from _walk(inner, f"{path}.{name}")


@lru_cache(8192)
def kind_of(path: str) -> str:
    """`before.wax.amount` of `right.before.wax.amount`, `work.method` of `left.work[0].method`."""
    bare = _INDEX.sub("", path)
    for ear in ("right.", "left."):
        bare = bare.removeprefix(ear)
    return bare
