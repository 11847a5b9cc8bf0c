"""Asks a server whether it has a bundle: after an answer was lost, and before anything is sent.

Sources: https://hl7.org/fhir/R4/http.html#search, https://hl7.org/fhir/R4/search.html#token,
https://hl7.org/fhir/R4/http.html#trules
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any, Literal
from urllib.parse import quote

from bridge.deliver.server.wire import Answer
from bridge.shapes import Json

Has = Literal["yes", "no", "other", "cannot tell"]
"""other: something else stands there under the identifier."""
Get = Callable[[str], Answer]
"""Reads an address under the server's base; raises what Wire.ask raises."""

_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?(?:Z|[+-]\d\d:\d\d)")


def token(identifier: Json) -> str:
    """An identifier as the value of a token search, escaped as R4 wants it and then percent-encoded."""
    return "|".join(_searched(str(identifier.get(key, ""))) for key in ("system", "value"))


def _searched(text: str) -> str:
    return quote(re.sub(r"([\\,|$])", r"\\\1", text), safe=":/")


def has_document(bundle: Json, get: Get) -> tuple[Has, str]:
    """Whether a document Bundle is there under its identifier, and its place (`Bundle/17`)."""
    answer = get(f"Bundle?identifier={token(bundle['identifier'])}")
    found = _found(answer)
    if found is None:
        return "cannot tell", ""
    mine = [r for r in found if r.get("identifier") == bundle["identifier"]]
    if not found:
        return "no", ""
    if len(mine) != 1 or len(found) != 1:
        return "other", ""
    id = mine[0].get("id")
    return ("yes" if _same(mine[0], bundle) else "other"), f"Bundle/{id}" if isinstance(id, str) else ""


def has_transaction(bundle: Json, get: Get) -> Has:
    """Whether all entries of a transaction are there; "no" where any is missing, for all of them may be sent again.

    What is put under an id of ours belongs to this version of the record: if it is missing, nothing was taken. What is
    known by its identifier may be there from an earlier version, so it only tells what is missing.
    """
    entries = bundle["entry"]
    ours = [e for e in entries if e["request"]["method"] == "PUT" and "?" not in e["request"]["url"]]
    if not ours:
        return "cannot tell"
    own = {_there(entry, get) for entry in ours}
    if own == {"no"}:
        return "no"
    if own != {"yes"}:
        return "cannot tell"
    rest = {_there(entry, get) for entry in entries if entry not in ours}
    return "cannot tell" if "cannot tell" in rest else "no" if "no" in rest else "yes"


def _there(entry: Json, get: Get) -> Has:
    request = entry["request"]
    query = request["ifNoneExist"] if request["method"] == "POST" else request["url"].partition("?")[2]
    if query:
        found = _found(get(f"{entry['resource']['resourceType']}?{query}"))
        return "cannot tell" if found is None else "yes" if len(found) == 1 else "no"
    answer = get(request["url"])
    if answer.status in (404, 410):
        return "no"
    if answer.status != 200 or not answer.data:
        return "cannot tell"
    return "yes" if _sources(answer.data) == _sources(entry["resource"]) else "no"


def _found(answer: Answer) -> list[Json] | None:
    """The resources that a search gave; None where it was none."""
    data = answer.data or {}
    if answer.status != 200 or data.get("resourceType") != "Bundle" or data.get("type") != "searchset":
        return None
    entries = data.get("entry", [])
    if not isinstance(entries, list) or any(link == "next" for link in _relations(data)):
        return None
    return [r for e in entries if isinstance(e, dict) and (r := e.get("resource")) and _is_match(e, r)]


def _is_match(entry: Json, resource: Any) -> bool:
    search = entry.get("search")
    mode = search.get("mode", "match") if isinstance(search, dict) else "match"
    return isinstance(resource, dict) and mode == "match" and resource.get("resourceType") != "OperationOutcome"


def _relations(data: Json) -> Iterator[Any]:
    links = data.get("link")
    return (one.get("relation") for one in links if isinstance(one, dict)) if isinstance(links, list) else iter(())


def _same(found: Json, bundle: Json) -> bool:
    try:
        return _gist(found) == _gist(bundle)
    except RecursionError:  # deeper than any document of ours
        return False


def _gist(bundle: Json) -> list[Any]:
    """What shows that two document Bundles are the same. A server may spell numbers and moments in another way, make
    narratives anew and keep data of its own; all else is compared, for a side or a code makes another document."""
    entries = bundle.get("entry")
    told = [_object(entry) for entry in (entries if isinstance(entries, list) else [])]
    return [bundle.get("type"), *((entry.get("fullUrl"), _spelt(entry.get("resource"))) for entry in told)]


def _spelt(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _spelt(v) for k, v in value.items() if k not in ("id", "meta") and not _is_narrative(k, v)}
    if isinstance(value, list):
        return [_spelt(one) for one in value]
    if isinstance(value, str):
        return _moment(value) or " ".join(value.split())
    return value if isinstance(value, bool) or value is None else Decimal(str(value)).normalize()


def _is_narrative(key: str, value: Any) -> bool:
    return key == "text" and isinstance(value, dict)


def _moment(text: str) -> datetime | None:
    if not _MOMENT.fullmatch(text):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _sources(resource: Json) -> list[Any]:
    """Its type, and of a Provenance from which state of which record it is."""
    entities = resource.get("entity")
    told = [_object(_object(e).get("what")) for e in (entities if isinstance(entities, list) else [])]
    return [resource.get("resourceType"), *(_object(what.get("identifier")).get("value") for what in told)]


def _object(value: Any) -> Json:
    return value if isinstance(value, dict) else {}
