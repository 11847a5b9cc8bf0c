"""What a document says of itself: kind of letter, visit, version, draft or not, client. For names and for choosing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

_OURS = re.compile(r"(?P<kind>[a-z]+)/(?P<number>.+)/(?P<version>[1-9]\d{0,2})(?P<draft>/draft)?")
_RECORD = re.compile(r"ips/[0-9a-f-]{36}/[0-9a-f-]{36}(?P<draft>/draft)?")
_KINDS = frozenset({"summary", "referral", "client", "record"})
_DAY = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True, slots=True)
class About:
    """What is empty was not said, or not in the way in which we say it."""

    kind: str = ""
    """`summary`, `referral`, `client`, `record`; `ips` for the whole record of a client."""
    number: str = ""
    """Of the visit; of the client where the document is the whole record."""
    version: int = 1
    draft: bool = False
    visits: frozenset[str] = frozenset()
    """Numbers of the visits that it tells of."""
    clients: frozenset[str] = frozenset()
    """Every number of the client."""
    days: frozenset[str] = frozenset()
    """The days of those visits, as written."""
    name: str = ""
    """The client's name in one line."""
    language: str = ""


def about(bundle: Any) -> About:
    """What a bundle or resource says of itself; never raises, whatever is in it."""
    resources = list(_resources(bundle))
    composition = next((r for r in resources if r.get("resourceType") == "Composition"), {})
    value = _text(_object(_object(bundle).get("identifier")).get("value"))
    patients = [r for r in resources if r.get("resourceType") == "Patient"]
    clients = list(dict.fromkeys(v for p in patients for v in _values(p)))
    encounters = [r for r in resources if r.get("resourceType") == "Encounter"]
    visits = frozenset(v for e in encounters for v in _values(e))
    days = frozenset(d[0] for e in encounters if (d := _DAY.match(_text(_object(e.get("period")).get("start")))))
    kind, number, version = "", "", 1
    draft = composition.get("status") == "preliminary"
    if (found := _OURS.fullmatch(value)) and found["kind"] in _KINDS:
        kind, number, version = found["kind"], found["number"], int(found["version"])
        draft = draft or bool(found["draft"])
    elif found := _RECORD.fullmatch(value):
        kind, number = "ips", _own_number(patients)
        draft = draft or bool(found["draft"])
    name = _name(patients[0]) if patients else ""
    language = _text(composition.get("language"))
    return About(kind, number, version, draft, visits, frozenset(clients), days, name, language)


def _resources(bundle: Any) -> Iterator[dict[str, Any]]:
    if _object(bundle).get("resourceType") != "Bundle":
        yield _object(bundle)
        return
    for entry in _list(bundle.get("entry")):
        yield _object(_object(entry).get("resource"))


def _own_number(patients: list[dict[str, Any]]) -> str:
    """The number that the clinic itself gave: a medical record number."""
    for identifier in (_object(i) for p in patients for i in _list(p.get("identifier"))):
        codes = [_object(c).get("code") for c in _list(_object(identifier.get("type")).get("coding"))]
        if "MR" in codes:
            return _text(identifier.get("value"))
    return ""


def _values(resource: dict[str, Any]) -> Iterator[str]:
    for identifier in _list(resource.get("identifier")):
        if value := _text(_object(identifier).get("value")):
            yield value


def _name(patient: dict[str, Any]) -> str:
    """Family name first, as files are sorted by it."""
    for name in map(_object, _list(patient.get("name"))):
        words = [_text(name.get("family")), *map(_text, _list(name.get("given")))]
        if told := " ".join(filter(None, words)) or _text(name.get("text")):
            return told
    return ""


def _object(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _text(value: Any) -> str:
    return value if isinstance(value, str) else ""
