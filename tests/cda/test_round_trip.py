"""A document bundle in CDA is valid by HL7's schema and comes back as it was, but for what kept.csv names.

`VISIT_BRIDGE_MANY=1000 python -m pytest tests/cda/test_round_trip.py` runs the full count.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.cda import read_cda, write_cda
from bridge.check import check_bundle
from bridge.data import load_csv, table_path
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from tests.cda.documents import DEMO, MANY, at, bundle_at, faults, generated, lost

ACT_STATUS = {
    "normal", "aborted", "active", "cancelled", "completed", "held", "new", "suspended", "nullified", "obsolete",
}  # fmt: skip
"""HL7 v3 ActStatus (2.16.840.1.113883.5.14); the schema lets any word pass."""


def there_and_back(bundle: Any) -> Any:
    written = write_cda(bundle)
    assert faults(written) == []
    assert {status.get("code") for status in at(written, "//v:statusCode[not(@nullFlavor)]")} <= ACT_STATUS
    back, issues = read_cda(written)
    assert issues == []
    assert dict(lost(back)) == dict(lost(bundle))
    return back


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.name.removesuffix(".bundle.json"))
def test_documents_of_the_demo_come_back(path: Path) -> None:
    bundle = bundle_at(path)
    back = there_and_back(bundle)
    assert bundle_to_visits(back) == bundle_to_visits(bundle)
    assert [i for i in check_bundle(back) if i.severity > Severity.information] == [
        i for i in check_bundle({**bundle}) if i.severity > Severity.information and i.rule[0] != "P"
    ]


def test_generated_documents_of_each_kind_and_region_come_back() -> None:
    for seed in range(MANY):
        visit, bundle = generated(seed)
        read, problems = bundle_to_visits(there_and_back(bundle))
        assert (read, problems) == bundle_to_visits(bundle), f"seed {seed}"
        assert read == [visit], f"seed {seed}"


@pytest.mark.parametrize("seed", range(3))
def test_same_bundle_same_bytes(seed: int) -> None:
    assert write_cda(generated(seed)[1]) == write_cda(generated(seed)[1])


def test_what_is_written_again_is_the_same_document() -> None:
    _, bundle = generated(4)
    written = write_cda(bundle)
    back, _ = read_cda(written)
    assert back is not None
    assert write_cda(back) == written


def test_the_table_of_what_is_lost_says_what_the_code_leaves_out() -> None:
    from bridge.cda.rest import LEFT_OUT

    rows = list(load_csv(table_path("cda", "kept.csv")))
    assert {row["path"] for row in rows if row["type"] == "*"} == LEFT_OUT
    assert {row["path"] for row in rows if row["back"] == "lost"} == {"meta"}
