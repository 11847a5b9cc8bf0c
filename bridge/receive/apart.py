"""Which resources of a bundle belong to which visit, and where references lead."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]


class Addresses:
    """Resources of a bundle by what a reference may call them."""

    def __init__(self, bundle: Json) -> None:
        self.resources: list[Json] = []
        self._by_url: dict[str, Json] = {}
        self._number: dict[int, int] = {}
        for number, entry in enumerate(bundle.get("entry", ())):
            resource = entry.get("resource")
            if isinstance(resource, dict):
                self.resources.append(resource)
                self._number[id(resource)] = number
                self._by_url.setdefault(f"{resource.get('resourceType')}/{resource.get('id')}", resource)
                if entry.get("fullUrl"):
                    self._by_url[entry["fullUrl"]] = resource

    def find(self, reference: Json | None) -> Json | None:
        """What a reference leads to, of whichever version."""
        told = str((reference or {}).get("reference", "")).partition("/_history/")[0]
        return self._by_url.get(told)

    def path(self, resource: Json) -> str:
        return f"Bundle.entry[{self._number[id(resource)]}].resource"


def visits_apart(bundle: Json, addresses: Addresses) -> Iterator[list[Json]]:
    """The resources of each visit.

    A document is about one. In another bundle each visit has its Provenance, which names all that belongs to the
    visit, in the order of the record; a server may have sent them in any other.
    """
    records = [r for r in addresses.resources if r["resourceType"] == "Provenance" and not is_approval(r)]
    if bundle["type"] == "document" or not records:
        yield addresses.resources
        return
    approvals: dict[int, list[Json]] = {}
    for approval in filter(is_approval, addresses.resources):
        for about in {id(addresses.find(target)) for target in approval["target"]}:
            approvals.setdefault(about, []).append(approval)
    for record in records:
        named = [addresses.find(r) for r in (*record["target"], *(a["who"] for a in record["agent"]))]
        named += [record, *approvals.get(id(record), ())]
        if len(records) == 1:
            named += addresses.resources
        yield list({id(r): r for r in named if r is not None}.values())


def is_approval(resource: Json) -> bool:
    """Whether a Provenance says who stands by a record, and not where that came from."""
    agents = resource.get("agent", ()) if resource["resourceType"] == "Provenance" else ()
    return any(c.get("code") == "attester" for a in agents for c in a.get("type", {}).get("coding", ()))
