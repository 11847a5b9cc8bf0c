"""Bundles of ours read as if a stranger had written them: less may come back, never more, surer, or on the other ear.

Oracle: the generated visit that each bundle was built from. What is finer on the way out (an impression that the work
put an end to is a resolved Condition, which a stranger's reader takes for something past; an allergy that nobody
verified) is listed here.
"""

from __future__ import annotations

import os
import random
import re
from collections import Counter
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build import build_collection
from bridge.coding import load_term_maps
from bridge.fhir.received import read_received
from bridge.fhir.write_json import dumps
from bridge.receive.foreign import read_foreign
from bridge.visit import Visit, terms_of
from tests import generate
from tests.coded import coded
from tests.receive.foreign.law import lost

NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
MANY = max(60, min(2_000, int(os.environ.get("VISIT_BRIDGE_MANY") or 60)))
NUMBER = re.compile(r"\[\d+\]")
ALSO = {
    "history.term": {"impressions.term", "work.method", "history.term"},
    "impressions.term": {"history.term"},
    "cautions.term": {"cautions.term", "allergies.items.term", "reasons"},
}


def told(visit: Visit) -> Counter[tuple[str, str, str | None]]:
    return Counter((NUMBER.sub("", path), term.text, term.assertion) for path, term in terms_of(visit))


def fits(path: str, words: str, assertion: str | None, source: dict[tuple[str, str], set[str | None]]) -> bool:
    ear, _, field = path.partition(".") if path.startswith(("right.", "left.")) else ("", "", path)
    places = {field, *ALSO.get(field, ())}
    said: set[str | None] = set()
    for place in places:
        said |= source.get((f"{ear}.{place}" if ear else place, words), set())
    if not said:
        return False
    if assertion in ("present", None):
        return bool({"present", None} & said)
    return assertion in said or assertion in ("past", "suspected")


def test_less_may_come_back_never_more() -> None:
    maps, taken = load_term_maps(), 0
    for seed in range(MANY):
        rng = random.Random(seed)
        visit = coded(generate.visit(rng, 0.4), maps, rng)
        data, _ = read_received(dumps(build_collection(visit, NAMESPACE, ZONE)))
        foreign = read_foreign(data)
        visits = {v.number: v.model_dump(mode="json") for v in foreign.visits}
        assert lost(data, visits, foreign.kept, foreign.account) == []
        source: dict[tuple[str, str], set[str | None]] = {}
        for path, words, assertion in told(visit):
            source.setdefault((path, words), set()).add(assertion)
        for read in foreign.visits:
            assert read.client.legal_name == visit.client.legal_name
            assert read.start == visit.start
            wrong = [found for found in told(read) if not fits(*found, source)]
            assert wrong == [], f"seed {seed}"
            taken += len(list(terms_of(read)))
    assert taken > MANY
