"""Bundles of other systems: what is surely the client's, of a visit and of an ear becomes a visit, the rest is kept."""

from __future__ import annotations

from typing import Any

from bridge.receive.foreign.accounts import account, kept
from bridge.receive.foreign.shapes import AccountLine, Foreign, kept_bundle
from bridge.receive.foreign.sources import sources

__all__ = ["AccountLine", "Foreign", "kept_bundle", "read_foreign"]


def read_foreign(bundle: Any) -> Foreign:
    """Visits, kept resources, account and issues of any data that `bridge.fhir.received` gives; never raises.

    A Bundle of any type, or a single resource. NDJSON comes as a collection.
    """
    found = sources(bundle)
    foreign = Foreign()
    foreign.account = account(bundle, found)
    kept(foreign, found)
    return foreign
