"""B: what a server tells of each entry of a batch or transaction, and of each version in a history.

Source: https://hl7.org/fhir/R4/bundle-definitions.html#Bundle.entry.response. The time of the last change is not
compared with the resource's own: published examples differ in it by seconds.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from bridge.check.look import numbered, part, text
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_TOLD = frozenset({"batch-response", "transaction-response", "history"})
_STATUS = re.compile(r"[1-5][0-9]{2}(?![0-9]).*", re.DOTALL)


def check_responses(bundle: Json, path: str = "Bundle") -> Iterator[Issue]:
    """Issues of the responses; nothing for other bundles."""
    if text(bundle, "type") not in _TOLD:
        return
    for number, entry in numbered(bundle, "entry"):
        response, place = part(entry, "response"), f"{path}.entry[{number}].response"
        status = text(response, "status")
        if status and not _STATUS.fullmatch(status):
            message = "The status does not start with a three-digit HTTP code."
            yield issue("B147", message, Where(path=f"{place}.status"))
        told, own = text(response, "etag"), text(part(part(entry, "resource"), "meta"), "versionId")
        if told and own and told.removeprefix("W/").strip('"') != own:
            message = "The etag names another version than the resource in this entry."
            yield issue("B148", message, Where(path=f"{place}.etag"))
        outcome = text(part(response, "outcome"), "resourceType")
        if outcome and outcome != "OperationOutcome":
            yield issue("B150", "The outcome is no OperationOutcome.", Where(path=f"{place}.outcome"))
