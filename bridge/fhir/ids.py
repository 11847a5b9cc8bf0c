"""Same visit, same identifiers, every run: UUIDv5 under the practice's own random namespace.

Nothing here is ever made from an NHS number.
"""

from __future__ import annotations

from uuid import UUID, uuid5

from bridge.visit import Visit
from bridge.visit.people import Client

_SEPARATOR = "\x1f"


class Ids:
    """Makes the ids and the local identifier systems of one practice."""

    def __init__(self, namespace: UUID) -> None:
        self.namespace = namespace

    def of(self, kind: str, *parts: object) -> str:
        """Stable id of one thing, e.g. `of("Observation", visit.number, "right", "before", "wax-state", 0)`."""
        return str(uuid5(self.namespace, _SEPARATOR.join([kind, *map(str, parts)])))

    def system(self, kind: str) -> str:
        """URI of one of the practice's own numbering systems (`client`, `visit`, `resource`, `key`)."""
        return f"urn:oid:2.25.{uuid5(self.namespace, 'system' + _SEPARATOR + kind).int}"

    def client(self, client: Client) -> str:
        """By the practice's client number, or by legal name and birth date where it keeps none."""
        return self.of("Patient", *client_key(client))

    def issue_identifier(self, visit: Visit, kind: str, version: int, draft: bool = False) -> dict[str, str]:
        """Identifier of one issue of a letter: `summary/2026-014/2`, drafts apart from approved ones."""
        value = f"{kind}/{visit.number}/{version}" + ("/draft" if draft else "")
        return {"system": self.system("document"), "value": value}


def client_key(client: Client) -> tuple[str, ...]:
    """What tells this client from the others of the practice."""
    if client.number:
        return ("number", client.number)
    name = client.legal_name
    words = " ".join([*name.given, name.family or ""]).casefold().split()
    return ("name", " ".join(words), client.birth_date or "")


def reference(id: str) -> dict[str, str]:
    return {"reference": f"urn:uuid:{id}"}
