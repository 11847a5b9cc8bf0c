"""Every place in which visit-bridge writes a value: `python -m tests.own_elements` makes the table of them anew.

From generated visits in every kind of bundle, region and set of codes, and from the demo's documents.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Literal

from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.fhir.received import read_received
from bridge.receive.own_elements import places, sort_of
from tests import generate
from tests.test_round_trip import NAMESPACE, ZONE

ROOT = Path(__file__).parents[1]
TABLE = ROOT / "mappings/own-elements.csv"
REGIONS = ("uk", "international", "us")
KINDS: tuple[Literal["summary", "referral", "client"], ...] = ("summary", "referral", "client")
COUNT = 2000
HEAD = """\
# Every place of a resource in which visit-bridge writes a value, without numbers of lists; extensions by their URL.
# What stands elsewhere in a document of ours was added by somebody else, and is kept beside the visit.
# Origin: this project, made by `python -m tests.own_elements` of generated visits and the demo. Licence: Apache-2.0.
"""


def bundles(seeds: Iterable[int]) -> Iterator[dict[str, Any]]:
    for seed in seeds:
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        options = Options(region=REGIONS[seed % 9 // 3], licensed=seed % 2 == 0)
        yield build_document(visit, NAMESPACE, ZONE, kind=KINDS[seed % 3], options=options)
        yield (build_collection if seed % 2 else build_transaction)(visit, NAMESPACE, ZONE, options=options)


def of_the_demo() -> Iterator[dict[str, Any]]:
    for path in sorted((ROOT / "demo_bundles").glob("*.json")):
        yield read_received(path.read_bytes())[0]


def written(found: Iterable[dict[str, Any]]) -> set[tuple[str, str]]:
    return {
        (sort_of(entry["resource"]), place)
        for bundle in found
        for entry in bundle["entry"]
        for _, place in places(entry["resource"])
    }


def table(rows: set[tuple[str, str]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("type", "place"))
    writer.writerows(sorted(rows))
    return HEAD + text.getvalue()


if __name__ == "__main__":
    TABLE.write_text(table(written(of_the_demo()) | written(bundles(range(COUNT)))), encoding="utf-8")
