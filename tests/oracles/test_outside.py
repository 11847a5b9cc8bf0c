"""Independent judges of the demo bundles: none of them is ours, and each sees something that the others do not.

- fhir.resources (PyPI), module R4B 4.3.0: cardinalities and types of R4 and R4B are the same for our resources
- the JSON schema published with R4 4.0.1, run by jsonschema-rs (PyPI)
- `fhir` 4.12.0 (npm), errors only: it warns wherever it has no copy of a value set

Each judge is first asked about a bundle with a known fault, so that a judge who nods at everything is noticed.
"""

from __future__ import annotations

import copy
import json
import os
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.standards import ROOT, standard_json

HERE = Path(__file__).parent
FOLDER = ROOT / "demo_bundles"
BUNDLES = sorted(FOLDER.rglob("*.bundle.json"))
Judge = Callable[[Any], list[str]]

pytestmark = pytest.mark.filterwarnings("ignore")
"""Warnings of the judges' own code are not ours to mend."""


def unable(reason: str) -> None:
    """Skip with the reason; under CI=true that is a failure."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


def fhir_resources(data: Any) -> list[str]:
    from fhir.resources.R4B import get_fhir_model_class
    from pydantic import ValidationError

    try:
        get_fhir_model_class(data["resourceType"]).model_validate(data)
    except ValidationError as error:
        return [f"{e['loc']}: {e['msg']}" for e in error.errors()]
    return []


@cache
def schema(type: str) -> Any:
    import jsonschema_rs

    whole = standard_json("fhir-r4/fhir.schema.json.gz")
    published = {k: v for k, v in whole.items() if k not in ("oneOf", "discriminator")}
    return jsonschema_rs.validator_for({**published, "$ref": f"#/definitions/{type}"})


def published_schema(data: Any) -> list[str]:
    """Entry by entry, since the schema's own words for a bundle are only "not valid under any"."""
    found = []
    for resource in [data, *(e["resource"] for e in data.get("entry", ()) if "resource" in e)]:
        alone = {k: v for k, v in resource.items() if resource is not data or k != "entry"}
        type = resource["resourceType"]
        errors = schema(type).iter_errors(alone)
        found += [f"{type} {'/'.join(map(str, e.instance_path))}: {e.message[:200]}" for e in errors]
    return found


def npm_fhir(data: Any, tmp: Path) -> list[str]:
    node = shutil.which("node")
    if node is None:
        unable("node is not installed")
    if not (HERE / "npm/node_modules/fhir").is_dir():
        unable("the npm validators are not installed; run tests/oracles/npm/install")
    file = tmp / "bundle.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    command = [str(node), str(HERE / "npm/validate.js"), str(file)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert run.returncode == 0, run.stderr[-500:]
    return [f"{m['location']}: {m['message']}" for m in json.loads(run.stdout) if m["severity"] in ("error", "fatal")]


@pytest.fixture(params=["fhir.resources", "published schema", "npm fhir"])
def judge(request: pytest.FixtureRequest, tmp_path: Path) -> Judge:
    return {
        "fhir.resources": fhir_resources,
        "published schema": published_schema,
        "npm fhir": lambda data: npm_fhir(data, tmp_path),
    }[request.param]


def test_a_judge_tells_right_from_wrong(judge: Judge) -> None:
    right = standard_json("fhir-r4-examples/Observation-f001.json")
    assert judge(right) == []
    wrong = copy.deepcopy(right)
    wrong["code"] = [wrong["code"]]
    wrong["zzUnknown"] = {}
    assert judge(wrong)


def test_there_are_demo_bundles() -> None:
    assert BUNDLES, f"{FOLDER} is empty"


@pytest.mark.parametrize("path", BUNDLES, ids=lambda p: p.name)
def test_a_demo_bundle_is_valid_for_others(path: Path, judge: Judge) -> None:
    assert judge(json.loads(path.read_text(encoding="utf-8"))) == []
