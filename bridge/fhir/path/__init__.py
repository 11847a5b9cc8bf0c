"""FHIRPath: expressions of profiles, evaluated.

Two engines: a quick one of our own for what guides write, and fhirpathpy, slow and with limits, for the rest.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from bridge.fhir.path.items import Env, Items, Run
from bridge.fhir.path.undecided import BeyondError, UndecidedError

__all__ = ["Env", "invariant", "selected"]

Holds = Callable[[Any, str, Env], bool | None]
"""Whether an expression holds for a value of a type: False where it is violated, None where that could not be said."""


@lru_cache(4096)
def invariant(expression: str) -> Holds:
    """A function for the expression, which holds where it comes out as true: not where it is false or empty. Never
    raises."""
    from bridge.fhir.path.build import build
    from bridge.fhir.path.syntax import parse

    if not isinstance(expression, str) or not expression.strip():
        return _undecided
    try:
        tree = parse(expression)
    except (BeyondError, UndecidedError, RecursionError):  # of what is no FHIRPath the careful engine would read half
        return _undecided
    try:
        judge = build(tree).judge
    except BeyondError:
        return _careful(expression)
    except (UndecidedError, RecursionError):
        return _undecided

    def holds(value: Any, type: str, env: Env) -> bool | None:
        focus: Items = [(value, type, None)]
        if env.left is not None and env.left[0] < 0:
            return None
        try:
            return judge(focus, Run(env, focus)) is True
        except BeyondError:
            return _careful(expression)(value, type, env)
        except (UndecidedError, RecursionError):
            return None

    return holds


def _careful(expression: str) -> Holds:
    from bridge.fhir.path.careful import careful

    return careful(expression)


def _undecided(value: Any, type: str, env: Env) -> bool | None:
    return None


Selects = Callable[[Any, str, Env], "list[tuple[Any, str, Any]] | None"]
"""What an expression leads to from a value: values, their types, and what stands beside simple ones; None as above."""


@lru_cache(1024)
def selected(expression: str) -> Selects:
    """A function for the expression that gives the items it leads to, by the quick engine alone. Never raises."""
    from bridge.fhir.path.build import build
    from bridge.fhir.path.syntax import parse

    try:
        collect = build(parse(expression)).collect
    except (UndecidedError, RecursionError):
        return lambda value, type, env: None

    def select(value: Any, type: str, env: Env) -> list[tuple[Any, str, Any]] | None:
        focus: Items = [(value, type, None)]
        if env.left is not None and env.left[0] < 0:
            return None
        try:
            return collect(focus, Run(env, focus))
        except (UndecidedError, RecursionError):
            return None

    return select
