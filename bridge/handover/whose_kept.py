"""Whether a kept file tells of another client than the one who is handed over: one bundle may be about several."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from bridge.receive.foreign import clients_in
from bridge.receive.matching import contradictions, one_person
from bridge.visit import Client


def of_another(content: bytes, clients: Iterable[Client], *, named: bool) -> bool:
    """Whether a Patient stands in it who is not this client, as any of these visits tell of them.

    `named`: its name says that it belongs to a visit of theirs, so that only what contradicts speaks against it; else
    they have to be surely one. Without a Patient it is of nobody else. Raises ValueError and RecursionError for what is
    no JSON.
    """
    own = list(clients)
    return any(
        not (named if patient is None else any(_fits(patient, client, named) for client in own))
        for bundle in _bundles(json.loads(content))
        for patient in clients_in(bundle)
    )


def _fits(patient: Client, client: Client, named: bool) -> bool:
    return not contradictions(patient, client) if named else one_person(patient, client)


def _bundles(data: Any) -> Iterator[Any]:
    yield data
    entries = data.get("entry") if isinstance(data, dict) else None
    for entry in entries if isinstance(entries, list) else ():
        inner = entry.get("resource") if isinstance(entry, dict) else None
        if isinstance(inner, dict) and inner.get("resourceType") == "Bundle":
            yield from _bundles(inner)
