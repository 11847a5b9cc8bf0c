"""Visits of one client for the tests: plain ones by hand, and generated ones."""

from __future__ import annotations

import json
import random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build.ips import build_client_summary
from bridge.fhir.write_json import dumps
from bridge.visit import Visit
from tests import generate

Json = dict[str, Any]
NAMESPACE = UUID("3b0ad1ba-33d5-4a4c-8d84-0c6f6f0f2d11")
ZONE = ZoneInfo("Europe/London")
WHOLE = {"status": "given", "scope": ["whole record"]}
CLIENT = {"number": "C-1", "legal_name": {"family": "Quill", "given": ["Ada"]}, "birth_date": "1950-03-04"}
WAX = {
    "text": "impacted wax",
    "assertion": "present",
    "codings": [{"system": "http://snomed.info/sct", "code": "18070006"}],
}
OTITIS = {
    "text": "otitis externa",
    "assertion": "present",
    "codings": [{"system": "http://snomed.info/sct", "code": "3135009"}],
}


def visit(month: int, **fields: Any) -> Visit:
    """Visit V1 in January 2026, V2 in February and so on, approved the same day."""
    start = f"2026-{month:02}-10T10:00+00:00"
    plain = {
        "number": f"V{month}",
        "client": CLIENT,
        "start": start,
        "practitioners": [{"key": "JM", "name": {"family": "Moss"}, "role": "ear care practitioner"}],
        "clinic": {"name": "The invented clinic"},
        "sharing": WHOLE,
        "approved": {"by": "JM", "at": start.replace("T10", "T12")},
    }
    return Visit.model_validate({**plain, **fields})


def generated(seed: int, count: int) -> list[Visit]:
    """So many visits of one client, with any field that a visit can have; some repeat what the one before said."""
    rng = random.Random(seed)
    client, found = generate.visit(rng).client, list[Visit]()
    for n in range(count):
        when = {"start": f"202{n}-11-03T10:15+00:00", "end": f"202{n}-11-03T10:40+00:00"}
        made = generate.visit(rng).model_copy(update={"number": f"V{n}", "client": client, **when})
        again = [field for fields in REPEATED if found and rng.random() < 0.5 for field in fields]
        found.append(made.model_copy(update={field: getattr(found[-1], field) for field in again}))
    return found


REPEATED = (("allergies",), ("medicines",), ("cautions",), ("practitioners", "approved", "right", "left"))
"""What may be said again, each group whole: who is named in an ear's record must be there."""


def summary(*visits: Visit) -> Json:
    """The document as a reader of JSON gets it."""
    found: Json = json.loads(written(*visits))
    return found


def written(*visits: Visit) -> bytes:
    return dumps(build_client_summary(visits, NAMESPACE, ZONE))


def resources(bundle: Json, type: str) -> list[Json]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type]


def section(bundle: Json, code: str) -> Json:
    """The section of a LOINC code; empty without one."""
    sections = bundle["entry"][0]["resource"]["section"]
    return next((s for s in sections if any(c["code"] == code for c in s["code"].get("coding", ()))), {})


def listed(bundle: Json, code: str) -> list[Json]:
    """The resources that a section lists."""
    by_url = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    return [by_url[e["reference"]] for e in section(bundle, code).get("entry", ())]


def first_code(concept: Json | None) -> str:
    return next((str(c["code"]) for c in (concept or {}).get("coding", ())), "")
