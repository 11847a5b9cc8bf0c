"""What a server's answer says, in plain words. Its own sentences may quote what was sent, so that they are never told.

Sources: https://hl7.org/fhir/R4/operationoutcome.html, https://hl7.org/fhir/R4/valueset-issue-type.html,
https://hl7.org/fhir/R4/http.html#transaction-response
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.shapes import Json

_MOST = 20
_PLACE = re.compile(r"[A-Z][A-Za-z]{1,63}(?:\.[A-Za-z][A-Za-z0-9]{0,63}(?:\[\d{1,5}\])?){0,12}")
_VERSIONED = re.compile(r"(?:.*/)?([A-Z][A-Za-z]{1,63}/[A-Za-z0-9.-]{1,64}(?:/_history/[A-Za-z0-9.-]{1,64})?)")
_STATUS = re.compile(r"([1-5]\d\d)(?:\D.*)?", re.DOTALL)
_ETAG = re.compile(r'(?:W/)?"[!-~]{1,80}"')
WHAT = {
    400: "it says that what was sent is not right",
    401: "it does not know us",
    403: "we may not do this there",
    404: "there is nothing at this address that takes it",
    405: "it does not take this at that address",
    408: "it gave up waiting",
    409: "it clashes with what stands there",
    410: "what it is about was deleted there",
    412: "several things there answer to one identifier",
    413: "it is larger than it takes",
    415: "it does not take this form",
    422: "it breaks a rule of the server",
    429: "it is busy",
    503: "it is busy",
}


@dataclass(frozen=True, slots=True)
class EntryAnswer:
    """What a server says of one entry of a transaction; `number` counts from 0, as FHIRPath does."""

    number: int
    type: str
    status: int
    """0 where it says nothing that can be understood."""
    location: str = ""
    etag: str = ""
    reasons: tuple[str, ...] = ()

    @property
    def taken(self) -> bool:
        """A 202 is a promise to look at it, and no yes."""
        return self.status in (200, 201, 204)


def what(status: int) -> str:
    """What an HTTP status means for a sender."""
    return WHAT.get(status, "it met a fault of its own" if status >= 500 else "it does not take it")


def reasons(data: Any) -> tuple[str, ...]:
    """The issues of an OperationOutcome: severity, kind and place, each once; nothing for anything else."""
    return tuple(dict.fromkeys(_reasons(data)))[:_MOST]


def _reasons(data: Any) -> Iterator[str]:
    outcome = data if isinstance(data, dict) and data.get("resourceType") == "OperationOutcome" else {}
    for found in _objects(outcome.get("issue")):
        severity, code = found.get("severity"), found.get("code")
        kind = _kinds().get(code) if isinstance(code, str) else None
        places = [*_texts(found.get("expression")), *_texts(found.get("location"))]
        place = next((p for p in places if _PLACE.fullmatch(p)), "")
        told = kind or "a reason that it gives no known code for"
        worth = f"{severity}: " if severity in ("fatal", "error", "warning", "information") else ""
        yield f"{worth}{told}{f' (at {place})' if place else ''}"


def warned(data: Any) -> tuple[str, ...]:
    """The issues that an accepted request came back with, above information."""
    return tuple(r for r in reasons(data) if not r.startswith("information"))


def entry_answers(bundle: Json, data: Any) -> list[EntryAnswer] | None:
    """What is said of each entry of a transaction, in its order; None where the answer is not one to it."""
    if not isinstance(data, dict) or data.get("resourceType") != "Bundle":
        return None
    if data.get("type") not in ("transaction-response", "batch-response"):
        return None
    said, sent = data.get("entry"), _objects(bundle.get("entry"))
    if not isinstance(said, list) or len(said) != len(sent):
        return None
    return [_entry(number, one, other) for number, (one, other) in enumerate(zip(sent, said, strict=True))]


def _entry(number: int, sent: Json, said: Any) -> EntryAnswer:
    response = said.get("response") if isinstance(said, dict) else None
    response = response if isinstance(response, dict) else {}
    status = response.get("status")
    found = _STATUS.fullmatch(status) if isinstance(status, str) else None
    type = sent["request"]["url"].split("?")[0].split("/")[0]
    told = reasons(response.get("outcome"))
    place, etag = place_told(response.get("location")), tag_told(response.get("etag"))
    return EntryAnswer(number, type, int(found[1]) if found else 0, place, etag, told)


def place_told(location: Any) -> str:
    """`Bundle/17/_history/1` out of a Location; empty where it is of another shape."""
    found = _VERSIONED.fullmatch(location) if isinstance(location, str) and len(location) < 500 else None
    return found[1] if found else ""


def tag_told(etag: Any) -> str:
    """An ETag as it is written; empty where it is of another shape."""
    return etag if isinstance(etag, str) and _ETAG.fullmatch(etag) else ""


@cache
def _kinds() -> dict[str, str]:
    return {row["code"]: row["words"] for row in load_csv(table_path("issue-types.csv"))}


def _objects(value: Any) -> list[Json]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def _texts(value: Any) -> list[str]:
    return [one for one in value if isinstance(one, str)] if isinstance(value, list) else []
