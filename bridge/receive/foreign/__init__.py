"""Bundles of other systems: what is surely the client's, of a visit and of an ear becomes a visit, the rest is kept.

bundle -> sources (whom is each about, where do references lead) -> a case per encounter -> facts -> visits
                                                       every leaf that no visit holds -> kept, and named in the account
"""

from __future__ import annotations

from bridge.receive.foreign.reading import clients_in, read_foreign
from bridge.receive.foreign.shapes import AccountLine, Foreign, kept_bundle

__all__ = ["AccountLine", "Foreign", "clients_in", "kept_bundle", "read_foreign"]
