"""Field paths of a visit, and the rows of `mappings/visit-fields.csv` they belong to."""

from __future__ import annotations

import re

_INDEX = re.compile(r"\[\d+\]")


def pattern(path: str) -> str:
    """The row's field for a field path: `right.work[0].method` is `{ear}.work[].method`."""
    plain = re.sub(r"^(right|left)\b", "{ear}", _INDEX.sub("[]", path))
    return re.sub(r"^\{ear\}\.(before|after)\b", "{ear}.{stage}", plain)
