"""What the rules tell quotes nothing of the client: every word of a random record is marked, and no mark comes out."""

from __future__ import annotations

import os
import random
import re
from collections.abc import Iterator
from typing import Any

import pytest

from bridge.check.clinical import load_rules
from bridge.check.clinical.flags import look
from bridge.visit import Visit
from tests import generate

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "40"))
RULES = load_rules("uk")
MARK = "QZX"
KEPT = {"system", "code", "version"}
"""What a coding means; its display is the record's own word."""
_FREE: dict[tuple[str, ...], bool] = {}
"""Whether a field takes any words, by its name."""


def texts(data: Any, above: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    pairs = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in pairs:
        if isinstance(value, str) and key not in KEPT:
            yield (*above, key)
        else:
            yield from texts(value, (*above, key))


def marked(visit: Visit) -> tuple[Visit, int]:
    """The visit with a mark for every text that may be any, and how many there are."""
    data = visit.model_dump(mode="json", exclude_defaults=True)
    count = 0
    for *way, last in texts(data):
        name = tuple(key for key in (*way, last) if isinstance(key, str))
        if _FREE.get(name) is False:
            continue
        holder: Any = data
        for key in way:
            holder = holder[key]
        before, holder[last] = holder[last], f"{MARK}{count}"
        if name not in _FREE:
            _FREE[name] = _valid(data)
        if _FREE[name]:
            count += 1
        else:
            holder[last] = before
    return Visit.model_validate(data), count


def _valid(data: Any) -> bool:
    try:
        Visit.model_validate(data)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("seed", range(MANY))
def test_no_word_of_the_record_is_told(seed: int) -> None:
    visit, count = marked(generate.visit(random.Random(seed), 0.7))
    assert count > 5
    looked = look(visit, RULES)
    for issue in looked.issues:
        told = f"{issue.message} {issue.help} {issue.cause}"
        assert MARK not in told
        assert re.search(r"\d{4}-\d\d", told) is None
    for alert in looked.alerts:
        assert MARK not in f"{alert.words} {alert.source} {alert.to}"
