"""Every resource in the published definition files of FHIR R4, IPS and UK Core, file by file."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from typing import Any

from tests.standards import standards_file

BUNDLES = {
    **{
        name: f"fhir-r4/{name}.json.gz"
        for name in (
            "profiles-types",
            "profiles-resources",
            "profiles-others",
            "extension-definitions",
            "valuesets",
            "valueset-expansions",
            "v2-tables",
            "v3-codesystems",
            "search-parameters",
        )
    },
    "uk-core-terminology": "uk-core/uk-core-terminology.json",
}
FILES = [*BUNDLES, "ips"]


def published(name: str) -> Iterator[Any]:
    """The resources of one of FILES, read anew each time: together they are too much to keep."""
    if name == "ips":
        yield from (json.loads(path.read_bytes()) for path in sorted(standards_file("ips").glob("*.json")))
        return
    content = standards_file(BUNDLES[name]).read_bytes()
    bundle = json.loads(gzip.decompress(content) if BUNDLES[name].endswith(".gz") else content)
    yield from (entry["resource"] for entry in bundle["entry"])


def name_of(resource: Any) -> str:
    return f"{resource['resourceType']}/{resource['id']}"
