"""What kind of value each field of a visit holds."""

from __future__ import annotations

from typing import Any

from bridge.visit import Measure, Size, Term, Visit
from tests.fields import pattern, plain_type


def types(model: Any = Visit, path: str = "") -> dict[str, tuple[Any, bool]]:
    """The type of each field by its row in the tables, and whether it is a date."""
    found: dict[str, tuple[Any, bool]] = {}
    for name, field in model.model_fields.items():
        of, many = plain_type(field.annotation)
        here = (f"{path}.{name}" if path else name) + ("[]" if many else "")
        if isinstance(of, type) and hasattr(of, "model_fields") and of not in (Term, Measure, Size):
            found |= types(of, here)
        else:
            found[pattern(here)] = (of, "check_when" in f"{field.annotation!r} {field.metadata!r}")
    return found


TYPES = types()
