"""Which kind of letter of ours a document is, by the type of its Composition and the shipped section plans."""

from __future__ import annotations

from functools import cache
from typing import Any

from bridge.data import load_yaml, table_path
from bridge.fhir.own import coding, word

CLIENT = "client"
"""The client's own copy. No published code says that and nothing else, so that a code of our own tells it apart from
any other letter."""
RECORD = "record"
"""All that one visit holds, for the clinic that looks after the client next: no letter, known by a code of our own."""


def letter_kind(composition: Any) -> str:
    """`summary`, `referral`, `client`, `record`; empty for a document of another type."""
    type = composition.get("type") if isinstance(composition, dict) else None
    if own := word("document", type):
        return own
    codings = type.get("coding") if isinstance(type, dict) else None
    for found in codings if isinstance(codings, list) else ():
        if isinstance(found, dict):
            kind = _kinds().get((str(found.get("system")), str(found.get("code"))))
            if kind:
                return kind
    return ""


@cache
def _kinds() -> dict[tuple[str, str], str]:
    plans = [load_yaml(path) for path in sorted(table_path("documents").glob("*/*.yaml"))]
    plans = [plan for plan in plans if plan["name"] != CLIENT]
    types = ((p["name"], coding(p[key])) for p in plans for key in ("type", "licensed_type") if key in p)
    return {(type["system"], type["code"]): name for name, type in types}
