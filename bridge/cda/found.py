"""What has been read of a document: resources by their ids, in the order in which they were met."""

from __future__ import annotations

from uuid import UUID, uuid5

from bridge.cda.oids import is_uuid
from bridge.shapes import Json

_FOREIGN = UUID("8dd29971-8049-4222-9eff-855403ab0390")
"""Made once; ids of what another system's document does not number follow from it."""


class Found:
    """Resources, each kept once; what is told of one more than once, the first time counts.

    `seed` tells one document from another: it makes the ids of what has none.
    """

    def __init__(self, seed: str) -> None:
        self.resources: dict[str, Json] = {}
        self._seed = seed
        self._made = 0

    def keep(self, type: str, ids: list[str], said: Json) -> Json:
        """Keeps a resource of this type under the first of the ids, or under a new one; the Reference to it."""
        id = ids[0] if ids else self._new(type)
        if self.resources.get(id, {}).get("resourceType", type) != type:
            id = self._new(type)
        known = self.resources.setdefault(id, {"resourceType": type, "id": id})
        for key, value in said.items():
            known.setdefault(key, value)
        return {"reference": f"urn:uuid:{id}" if is_uuid(id) else f"{type}/{id}"}

    def _new(self, type: str) -> str:
        self._made += 1
        return str(uuid5(_FOREIGN, f"{self._seed}\x1f{type}\x1f{self._made}"))

    def at(self, reference: Json) -> Json | None:
        """The resource that a Reference of `keep` points at."""
        target = str(reference.get("reference", ""))
        return self.resources.get(target.removeprefix("urn:uuid:").rpartition("/")[2])
