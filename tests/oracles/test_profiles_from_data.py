"""Profiles made from published examples, of which it is known whether the example conforms: no slip either way.

`VISIT_BRIDGE_MANY=1 python -m pytest -s tests/oracles/test_profiles_from_data.py` tries all and prints the table.
"""

from __future__ import annotations

import json
import os
from collections import Counter, defaultdict
from functools import cache
from typing import NamedTuple
from zlib import crc32

from bridge.check.profiles import check_profiles
from bridge.check.profiles.asked import asked_for
from bridge.issues import Severity
from tests.oracles.profiles_from_data import URL, Made, made
from tests.oracles.seed_definitions import Json
from tests.standards import standards_file

STEP = 1 if "VISIT_BRIDGE_MANY" in os.environ else 12


class Tally(NamedTuple):
    tried: Counter[str]
    wrong: dict[str, list[str]]


@cache
def tally() -> Tally:
    result = Tally(Counter(), defaultdict(list))
    done: set[tuple[str, str]] = set()
    for path in sorted(standards_file("fhir-r4-examples").glob("*.json")):
        data = json.loads(path.read_bytes())
        for one in made(data):
            if (one.kind, one.of) in done or crc32(f"{one.kind} {one.of}".encode()) % STEP:
                continue
            done.add((one.kind, one.of))
            result.tried[one.kind] += 1
            if wrong := judged(one, data):
                result.wrong[one.kind].append(f"{path.name}: {one.of} at {one.at or 'nowhere'}: {wrong}")
    return result


def judged(one: Made, data: Json) -> str:
    """What is wrong with what the checker says; empty where nothing is."""
    found = check_profiles(data, data["resourceType"], asked_for([URL], [one.definition, *one.sets]))
    errors = [i for i in found if i.severity >= Severity.error and "Made" in i.message]
    shown = str([(i.rule, i.where.path, i.message[:120]) for i in errors][:3])
    if not one.at:
        return shown if errors else ""
    return "" if any(i.where.path in (one.at, one.around) for i in errors) else shown


def test_data_conforms_to_what_was_read_off_it_and_not_to_its_opposite() -> None:
    result = tally()
    print(f"\n{sum(result.tried.values())} profiles", *sorted(result.tried.items()), sep="\n")
    assert {kind: rows[:3] for kind, rows in result.wrong.items()} == {}
    assert sum(result.tried.values()) > 500


if __name__ == "__main__":
    for kind, count in sorted(tally().tried.items()):
        rows = tally().wrong.get(kind, [])
        print(f"{kind}: {count}, wrong {len(rows)}", *rows[:4], sep="\n    ")
