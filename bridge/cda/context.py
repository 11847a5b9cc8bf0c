"""What the entries of a document may ask about the whole of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bridge.shapes import Json


@dataclass(slots=True)
class Context:
    """The document bundle that is written; empty while one is read."""

    bundle: Json = field(default_factory=dict)
    subject: str | None = None
    """Reference to the client, once the header has said it: entries then leave it out where it is the same."""
    encounter: str | None = None
    """Reference to the visit, in the same way."""
    _by_url: dict[str, Json] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for entry in objects(self.bundle.get("entry")):
            resource = entry.get("resource")
            if isinstance(resource, dict):
                self._by_url.setdefault(f"{resource.get('resourceType')}/{resource.get('id')}", resource)
                if isinstance(entry.get("fullUrl"), str):
                    self._by_url.setdefault(entry["fullUrl"], resource)

    def conduct(self, composition: Json) -> None:
        """Takes from the Composition, as the header tells it, what CDA conducts from there to every entry."""
        self.subject, self.encounter = (_target(composition.get(key)) for key in ("subject", "encounter"))

    def find(self, reference: Any) -> Json | None:
        """The resource that a Reference points at, if it is in the bundle."""
        url = reference.get("reference") if isinstance(reference, dict) else None
        return self._by_url.get(url) if isinstance(url, str) else None

    def of(self, type: str) -> list[Json]:
        """All resources of a type, in their order."""
        found = (entry.get("resource") for entry in objects(self.bundle.get("entry")))
        return [r for r in found if isinstance(r, dict) and r.get("resourceType") == type]


def _target(reference: Any) -> str | None:
    target = reference.get("reference") if isinstance(reference, dict) else None
    return target if isinstance(target, str) else None


def objects(value: Any) -> list[Json]:
    """The objects in a list; none where it is no list."""
    return [item for item in value if isinstance(item, dict)] if isinstance(value, list) else []
