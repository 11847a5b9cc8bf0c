"""Documents to be written in CDA: those of the demo and generated ones, and HL7's schema to hold them against."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from lxml import etree

from bridge.build import Options, build_document
from bridge.fhir.received import read_received
from tests import generate
from tests.standards import standards_file
from tests.test_round_trip import NAMESPACE, ZONE

ROOT = Path(__file__).parents[2]
DEMO = sorted([*(ROOT / "demo_bundles").glob("*.json"), *(ROOT / "demo_bundles").glob("summaries/*.json")])
KINDS = ("summary", "referral", "client")
REGIONS = ("uk", "international", "us")
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "40"))
V3 = {"v": "urn:hl7-org:v3"}


def bundle_at(path: Path) -> Any:
    data, issues = read_received(path.read_bytes())
    assert not issues
    return data


def generated(seed: int) -> tuple[Any, Any]:
    """A visit and the document of it, kinds, regions and sets of codes in turn."""
    visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
    options = Options(region=REGIONS[seed % 9 // 3], licensed=seed % 2 == 0)
    return visit, build_document(visit, NAMESPACE, ZONE, kind=KINDS[seed % 3], options=options)


@cache
def schema() -> Any:
    """HL7's schema of CDA R2, the normative edition."""
    return etree.XMLSchema(etree.parse(str(standards_file("cda/normative/infrastructure/cda/CDA.xsd"))))


def faults(written: bytes) -> list[str]:
    """What the schema has against a document."""
    found = schema()
    root = etree.fromstring(written)
    return [] if found.validate(root) else [f"{e.line}: {e.message}" for e in found.error_log][:5]


def at(written: bytes, path: str) -> Any:
    """What an XPath with the prefix `v` finds in a document."""
    return etree.fromstring(written).xpath(path, namespaces={**V3, "xsi": "http://www.w3.org/2001/XMLSchema-instance"})


def lost(bundle: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf of a bundle with where it stands, but for what `mappings/cda/kept.csv` says is lost: `meta`."""
    if isinstance(bundle, dict):
        for key, value in bundle.items():
            if key != "meta":
                yield from lost(value, f"{path}.{key}")
    elif isinstance(bundle, list):
        for index, item in enumerate(bundle):
            yield from lost(item, f"{path}[{index}]")
    else:
        yield path, bundle
