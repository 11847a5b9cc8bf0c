"""What becomes of each field: mappings/deidentify/fields.csv."""

from __future__ import annotations

import re
from functools import cache

from bridge.data import load_csv, table_path
from bridge.deidentify.wishes import Purpose
from bridge.errors import MappingError

ACTIONS = {
    "keep", "out", "pseudonym-visit", "pseudonym-client", "pseudonym-person", "date", "date-to-come", "birth-year",
    "term", "text", "text-needed", "rule",
}  # fmt: skip
_INDEX = re.compile(r"\[\d*\]")


@cache
def actions(purpose: Purpose) -> dict[str, str]:
    """The action of each field, as mappings/visit-fields.csv spells fields. Raises MappingError."""
    found = {row["field"]: row[purpose] for row in load_csv(table_path("deidentify", "fields.csv"))}
    if wrong := set(found.values()) - ACTIONS:
        raise MappingError(f"deidentify/fields.csv has actions that do not exist: {', '.join(sorted(wrong))}.")
    return found


def row_of(path: str) -> str:
    """The row's field for a path in a visit: `right.work[0].method` is `{ear}.work[].method`."""
    plain = re.sub(r"^(right|left)\b", "{ear}", _INDEX.sub("[]", path))
    return re.sub(r"^\{ear\}\.(before|after)\b", "{ear}.{stage}", plain)
