"""Makes pages for the tests: record to visit to bundle, written and read as JSON, to page."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build import build_document
from bridge.fhir.write_json import dumps
from bridge.render.as_html import render
from bridge.shapes import Document, Json
from bridge.visit import Visit


def bundle_of(raw: dict[str, Any], kind: str = "summary") -> Json:
    made = build_document(Visit.model_validate(raw), UUID(int=5), ZoneInfo("Europe/London"), kind)
    read: Json = json.loads(dumps(made), parse_float=Decimal)
    return read


def page_of(raw: dict[str, Any], kind: str = "summary") -> Document:
    return render(bundle_of(raw, kind))
