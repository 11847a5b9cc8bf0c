"""The careful engine: fhirpathpy, for what the quick one does not know.

It has no limits of its own, so small data and short expressions alone are given to it, and nothing that may grow or
run without end, that reads the clock, or that it does not have.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from bridge.fhir.path.items import Env

MAX_LENGTH = 1_000
MAX_NODES = 2_000
MAX_DEPTH = 40
_REFUSED = re.compile(
    r"\b(now|today|timeOfDay|matches|matchesFull|replaceMatches|replace|repeat|aggregate|resolve|memberOf|conformsTo"
    r"|htmlChecks|subsumes|subsumedBy|hasValue|trace|elementDefinition|slice|checkModifiers|combine|join)\s*\("
)
_MAX_BRACKETS = 30
WORK = 10_000
"""What one evaluation counts for, in items that the quick engine looks at."""


def careful(expression: str) -> Callable[[Any, str, Env], bool | None]:
    """A function for the expression, as `invariant` gives it; None for all that it refuses or fails on."""
    compiled = None
    if len(expression) <= MAX_LENGTH and not _REFUSED.search(expression) and expression.count("(") <= _MAX_BRACKETS:
        compiled = _compiled(expression)
    if compiled is None:
        return lambda value, type, env: None
    evaluate = compiled

    def holds(value: Any, type: str, env: Env) -> bool | None:
        from fhirpathpy.engine.nodes import ResourceNode

        if env.left is not None:
            env.left[0] -= WORK
            if env.left[0] < 0:
                return None
        left = [MAX_NODES]
        try:
            focus, resource, root = (_copied(one, left, 0) for one in (value, env.resource, env.root))
            if not isinstance(focus, dict) or "resourceType" not in focus:
                focus = ResourceNode.create_node(focus, type)  # type: ignore[no-untyped-call]
            found = evaluate(focus, {"resource": resource, "rootResource": root})
        except Exception:  # whatever a stranger's engine fails with, it gives no answer
            return None
        return found[0] if len(found) == 1 and isinstance(found[0], bool) else None

    return holds


def _compiled(expression: str) -> Callable[[Any, dict[str, Any]], list[Any]] | None:
    try:
        import fhirpathpy
        from fhirpathpy.models import models

        found: Callable[[Any, dict[str, Any]], list[Any]] = fhirpathpy.compile(expression, models["r4"])
    except Exception:  # it throws what its parser throws
        return None
    return found


class _TooMuchError(Exception):
    """More data than the engine is given."""


def _copied(value: Any, left: list[int], depth: int) -> Any:
    """A copy with plain numbers, as the engine changes what it is given."""
    left[0] -= 1
    if left[0] < 0 or depth > MAX_DEPTH:
        raise _TooMuchError
    if isinstance(value, dict):
        return {key: _copied(inner, left, depth + 1) for key, inner in value.items()}
    if isinstance(value, list):
        return [_copied(inner, left, depth + 1) for inner in value]
    return float(value) if isinstance(value, Decimal) else value
