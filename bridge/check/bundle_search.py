"""B: what the answer to a search says of itself.

Source: https://hl7.org/fhir/R4/search.html#conformance, bundle-definitions.html#Bundle.total and #Bundle.entry.search.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.look import numbered, part, parts, text
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json


def check_search(bundle: Json, path: str = "Bundle") -> Iterator[Issue]:
    """Issues of the answer to a search; nothing for other bundles."""
    if text(bundle, "type") != "searchset":
        return
    if all(text(link, "relation") != "self" for link in parts(bundle, "link")):
        yield issue("B160", "This answer does not say what was searched for: it has no link “self”.", Where(path=path))
    matches, silent = 0, False
    for number, entry in numbered(bundle, "entry"):
        mode, kind = text(part(entry, "search"), "mode"), text(part(entry, "resource"), "resourceType")
        matches += mode == "match"
        silent = silent or (bool(kind) and not mode)
        if mode == "outcome" and kind and kind != "OperationOutcome":
            message = f"The mode is outcome, and this is a resource of type {kind[:60]}."
            yield issue("B162", message, Where(path=f"{path}.entry[{number}].search.mode"))
        elif kind == "OperationOutcome" and mode in ("match", "include"):
            message = f"An OperationOutcome tells of the search itself; its mode is outcome, not {mode}."
            yield issue("B162", message, Where(path=f"{path}.entry[{number}].search.mode"))
    if silent:
        message = "Of some entries it is not told whether they match or come along (search.mode)."
        yield issue("B161", message, Where(path=path))
    total = bundle.get("total")
    if isinstance(total, int) and not isinstance(total, bool) and 0 <= total < matches:
        message = "The total is smaller than the number of matches in this bundle."
        yield issue("B163", message, Where(path=f"{path}.total"))
