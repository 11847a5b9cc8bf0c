"""`--floor NAME=PERCENT` and `--ceiling NAME=PERCENT`: limits of a practice's own."""

from __future__ import annotations

from collections.abc import Sequence

import click


def limits(given: Sequence[str], option: str, names: Sequence[str]) -> dict[str, float]:
    """Name to percent. Raises UsageError for another name, for no percentage, and for a name given twice."""
    found: dict[str, float] = {}
    for one in given:
        name, _, value = one.partition("=")
        if name not in names:
            raise click.UsageError(f"{option} knows {', '.join(names)}; write for example {option} {names[0]}=90.")
        if name in found:
            raise click.UsageError(f"{option} {name} is given twice.")
        found[name] = _percent(value, option, name)
    return found


def _percent(value: str, option: str, name: str) -> float:
    try:
        percent = float(value.removesuffix("%"))
    except ValueError:
        percent = -1
    if not 0 <= percent <= 100:
        raise click.UsageError(f"{option} {name} wants a percentage from 0 to 100, such as {name}=90.")
    return percent
