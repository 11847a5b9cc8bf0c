"""Every code in the demo's bundles stands in the tables verified by hand, with its name, and is one to be written.

The judge reads the finished bundles and the verified tables only; it imports nothing of the package.
"""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
BUNDLES = sorted(ROOT.glob("demo_bundles/**/*.bundle.json"))
OWN = re.compile(r"urn:oid:2\.25\.\d+")
NOT_FOR_WRITING = re.compile(r"import[- ]only|Recognise on import|\bTRAP\b|^Avoid")
EARS = {"25577004": "right", "89644007": "left"}
"""Right and left ear structure: the only sided codes that the free sets have for an ear."""


def verified() -> dict[tuple[str, str], tuple[set[str], str]]:
    """System and code to the names it may have and what it is for."""
    folder = Path(os.environ.get("VISIT_BRIDGE_REFERENCE") or ROOT.parent / "shared" / "reference")
    if not folder.is_dir():
        reason = "the verified tables are not here; set VISIT_BRIDGE_REFERENCE to the folder that has them"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    found: dict[tuple[str, str], tuple[set[str], str]] = {}
    for name, system, term in (
        ("snomed-ear.csv", "http://snomed.info/sct", "fsn_or_display"),
        ("other-codes.csv", "", "display"),
    ):
        with (folder / name).open(encoding="utf-8", newline="") as stream:
            for row in csv.DictReader(stream):
                if row["confidence"] == "memory":
                    continue
                key = system or row["system_uri"], row["code"]
                names, _ = found.setdefault(key, (set(), row["preferred_use"]))
                names.update({row[term], re.sub(r" \([a-z /]+\)$", "", row[term])})
    return found


def codings(node: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(node, dict):
        if "system" in node and "code" in node and "value" not in node:
            yield path, node
        for key, inner in node.items():
            yield from codings(inner, f"{path}.{key}")
    elif isinstance(node, list):
        for number, inner in enumerate(node):
            yield from codings(inner, f"{path}[{number}]")


def test_every_code_is_verified_and_named_right() -> None:
    known, seen = verified(), set()
    assert BUNDLES
    for bundle in BUNDLES:
        for path, coding in codings(json.loads(bundle.read_bytes())):
            if OWN.fullmatch(coding["system"]):
                continue
            key = coding["system"], coding["code"]
            assert key in known, f"{bundle.name}{path}: {key} is in no verified table"
            names, use = known[key]
            assert coding.get("display") in names, f"{bundle.name}{path}: {key} is not called {coding.get('display')}"
            assert not NOT_FOR_WRITING.search(use), f"{bundle.name}{path}: {key} is not for writing"
            seen.add(key)
    assert len(seen) > 60


def test_every_site_has_the_side_of_its_words() -> None:
    """The coded ear, the words beside it, and the identifier made from the record name one ear."""
    sided = 0
    for bundle in BUNDLES:
        for entry in json.loads(bundle.read_bytes())["entry"]:
            resource = entry["resource"]
            sites = resource.get("bodySite", [])
            for site in sites if isinstance(sites, list) else [sites]:
                (ear,) = {EARS[c["code"]] for c in site["coding"] if c["code"] in EARS}
                assert site["text"].startswith(ear), (bundle.name, site)
                values = " ".join(i["value"] for i in resource["identifier"])
                named = {e for e in EARS.values() if f"/{e}/" in values}
                assert named <= {ear}, (bundle.name, values)
                sided += 1
    assert sided > 300
