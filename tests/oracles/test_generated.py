"""The same outside judges over generated visits in which nearly every field is filled."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_collection, build_document, build_transaction
from bridge.fhir.ndjson import dump_lines
from bridge.fhir.write_json import dumps
from bridge.visit import Visit
from tests import generate
from tests.oracles.test_outside import fhir_resources, npm_fhir, published_schema

Json = dict[str, Any]
pytestmark = pytest.mark.filterwarnings("ignore")


def build_referral_letter(visit: Visit, namespace: UUID, zone: ZoneInfo) -> Json:
    return build_document(visit, namespace, zone, "referral")


BUILD: tuple[Callable[..., Json], ...] = (build_document, build_referral_letter, build_transaction, build_collection)


def written(build: Callable[..., Json], seed: int) -> Json:
    visit = generate.visit(random.Random(10_000 + seed), fill=(0.7, 0.95)[seed % 2])
    read: Json = json.loads(dumps(build(visit, UUID(int=5), ZoneInfo("Europe/London"))))
    return read


@pytest.mark.parametrize("build", BUILD)
@pytest.mark.parametrize("seed", range(25))
def test_a_full_visit_is_valid_for_others(build: Callable[..., Json], seed: int) -> None:
    data = written(build, seed)
    assert published_schema(data) == []
    assert fhir_resources(data) == []


@pytest.mark.parametrize("build", BUILD)
def test_a_full_visit_is_valid_for_a_validator_of_another_language(build: Callable[..., Json], tmp_path: Path) -> None:
    assert npm_fhir(written(build, 1), tmp_path) == []


@pytest.mark.parametrize("seed", range(10))
def test_each_line_is_valid_for_others(seed: int) -> None:
    visit = generate.visit(random.Random(20_000 + seed), fill=0.7)
    for line in dump_lines(build_collection(visit, UUID(int=5), ZoneInfo("Europe/London"))).splitlines():
        data = json.loads(line)
        assert published_schema(data) == []
        assert fhir_resources(data) == []
