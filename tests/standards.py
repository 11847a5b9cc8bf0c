"""Published standards as oracles. They are not part of the project: point VISIT_BRIDGE_STANDARDS at a folder of them.

The folder holds `fhir-r4/` (definitions of FHIR R4 4.0.1 from hl7.org/fhir/R4, gzipped) and the other packages
under the names that the tests ask for. Without it a test that needs one is skipped with that reason; under
CI=true it fails.
"""

from __future__ import annotations

import gzip
import json
import os
from functools import cache
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]


def standards_folder() -> Path:
    """Where the published files are: VISIT_BRIDGE_STANDARDS, or beside the checkout."""
    return Path(os.environ.get("VISIT_BRIDGE_STANDARDS") or ROOT.parent / "shared" / "standards")


def standards_file(name: str) -> Path:
    """Path of a published file by its name in the folder; skips the test (fails under CI=true) where it is missing."""
    path = standards_folder() / name
    if not path.exists():
        reason = f"the published file {name} is not here; set VISIT_BRIDGE_STANDARDS to a folder that has it"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return path


@cache
def standard_json(name: str) -> Any:
    """A published JSON file, gzipped or not, as plain data. Do not change what you get: tests share it."""
    path = standards_file(name)
    data = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
    return json.loads(data)
