"""A digest of what a document says, by which its reader sees whether all of it arrived as it was written.

It is about the data and not about the file: line ends and blanks between elements may change on the way.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from hashlib import sha256
from typing import Any

from bridge.cda.rest import LEFT_OUT
from bridge.cda.values import identifier_of, ii
from bridge.cda.xml import Node, every
from bridge.fhir.systems import system
from bridge.shapes import Json

_AROUND_TAGS = re.compile(r"\s*(<[^>]*>)\s*")
_SPACES = re.compile(r"\s+")


def digest_of(bundle: Json) -> str:
    """SHA-256 over all data of a bundle but for what never comes back (`mappings/cda/kept.csv`)."""
    entries = [{**e, "resource": _bare(e.get("resource") or {})} for e in bundle.get("entry") or ()]
    plain = _plain({**_bare(bundle), "entry": entries})
    return sha256(json.dumps(plain, sort_keys=True, ensure_ascii=False).encode("utf-8", "replace")).hexdigest()


def _bare(resource: Json) -> Json:
    return {key: value for key, value in resource.items() if key not in LEFT_OUT}


def _plain(value: Any, key: str = "") -> Any:
    """The same with numbers as their digits, and narratives without the blanks that lay them out."""
    if isinstance(value, dict):
        return {name: _plain(inner, name) for name, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        return str(Decimal(str(value)))
    if key == "div" and isinstance(value, str):
        return _SPACES.sub(" ", _AROUND_TAGS.sub(r"\1", value))
    return value


def numbered(statement: Node, digest: str) -> None:
    """Puts a digest among the ids of a statement."""
    made = ii("id", {"system": system("sha-256"), "value": digest})
    every(statement, "id")[-1].addnext(made)


def digest_in(statement: Node) -> str:
    """The digest among the ids of a statement; empty where there is none."""
    numbers = (identifier_of(place) or {} for place in every(statement, "id"))
    return next((str(n.get("value")) for n in numbers if n.get("system") == system("sha-256")), "")
