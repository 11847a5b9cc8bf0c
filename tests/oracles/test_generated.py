"""The same outside judges over generated visits in which nearly every field is filled."""

from __future__ import annotations

import json
import random
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_collection, build_document, build_transaction
from bridge.fhir.write_json import dumps
from tests import generate
from tests.oracles.test_outside import fhir_resources, published_schema

pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.mark.parametrize("seed", range(25))
def test_a_full_visit_is_valid_for_others(seed: int) -> None:
    visit = generate.visit(random.Random(10_000 + seed), fill=(0.7, 0.95)[seed % 2])
    for build in (build_document, build_transaction, build_collection):
        data = json.loads(dumps(build(visit, UUID(int=5), ZoneInfo("Europe/London"))))
        assert published_schema(data) == []
        assert fhir_resources(data) == []
