"""Signs: what a field shows at a glance, so that a rule that waits for something else need not be asked at all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import level_of, named_by, stated
from bridge.phrases.fold import fold

ABSENT, PRESENT, UNCODED = "nothing recorded", "something recorded", "of unknown meaning"
"""Beside meanings and plain values: that nothing is recorded, that something is, that no term map knows its words."""


class Word(NamedTuple):
    """A word of a text, as a sign."""

    word: str


Sign = tuple[str, Any]
"""A field, and what it shows."""
Signs = frozenset[Sign]
Wakes = Callable[..., Signs | None]
"""Gives signs without any of which the answer is surely no; None where there are no such signs."""

_OFTEN = {ABSENT: 50, PRESENT: 50, UNCODED: 2}
"""About how many times as often as one meaning such a sign is seen."""


def no_signs(**options: Any) -> None:
    """For questions that can be yes or open whatever a record shows."""


def named(fields: Iterable[str], means: Iterable[Any]) -> Iterator[Sign]:
    """The signs of these meanings in these fields."""
    listed = list(means)
    return ((field, meaning) for field in fields for meaning in listed)


def words_of(field: str, held: Sequence[Any], context: Context) -> list[list[str]]:
    """The folded words of each text that a field holds."""
    memo = context.memos[level_of(field)]
    found: list[list[str]] | None = memo.get((field, "words"))
    if found is None:
        texts = (one.text if hasattr(one, "text") else str(one) for one in held)
        found = memo[field, "words"] = [fold(text).split() for text in texts]
    return found


def told(*fields: str) -> Wakes:
    """For functions whose answer is no where nothing is recorded in any of these fields."""
    signs = frozenset((field, PRESENT) for field in fields)
    return lambda **options: signs


def weight(signs: Signs) -> int:
    """About how often one of them is seen."""
    return sum(_OFTEN.get(what, 1) for _, what in signs)


def meanings(field: str, held: Sequence[Any], context: Context) -> Iterable[Any]:
    """What is shown by that which a field holds, beside that it is there."""
    kind: Any = type(held[0])
    if named_by(kind) is None:
        return [value for value in held if isinstance(value, str | int)]
    found: set[Any] = set()
    for one in stated(field, context, held):
        found.update(one.concepts or (UNCODED,))
    return found
