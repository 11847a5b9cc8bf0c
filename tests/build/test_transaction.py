"""Requests of a transaction, as a server of R4 reads them.

Oracle: https://hl7.org/fhir/R4/http.html: create and conditional update of what the server knows under its own id are
refused with another id in the body (400), and an update by id needs that id.
"""

from __future__ import annotations

import random
import re
from typing import Any
from urllib.parse import unquote
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_transaction
from tests import generate

Json = dict[str, Any]


@pytest.mark.parametrize("seed", range(20))
def test_each_request_is_one_that_a_server_can_take_twice(seed: int) -> None:
    visit = generate.visit(random.Random(seed), fill=0.7)
    bundle = build_transaction(visit, UUID(int=5), ZoneInfo("Europe/London"))
    asked = set()
    for entry in bundle["entry"]:
        resource, request = entry["resource"], entry["request"]
        type, url = resource["resourceType"], request["url"]
        if request["method"] == "POST":
            query = request["ifNoneExist"]
            assert url == type
        else:
            assert request["method"] == "PUT"
            query = url.partition("?")[2]
        if not query:
            assert url == f"{type}/{resource['id']}"
            assert "identifier" not in resource
        else:
            assert "id" not in resource
            found = re.fullmatch(r"identifier=([^|]+)[|]([^|]+)", query)
            assert found
            told = resource["identifier"]
            told = told if isinstance(told, list) else [told]
            value = re.sub(r"\\(.)", r"\1", unquote(found[2]))
            assert (unquote(found[1]), value) in {(i.get("system"), i["value"]) for i in told}
        assert (type, query or url) not in asked, "two entries would be one resource on the server"
        asked.add((type, query or url))
