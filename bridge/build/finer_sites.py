"""Body sites of the licensed set: the canal or the drum of an ear, where the free codes know only the ear."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import finer_site

_SITES = ("bodySite", "site")


def with_finer_sites(node: Any) -> Any:
    """The same data with finer codes for the body sites whose words name such a part; the words stay."""
    if isinstance(node, list):
        return [with_finer_sites(item) for item in node]
    if not isinstance(node, dict):
        return node
    return {k: _sites(value) if k in _SITES else with_finer_sites(value) for k, value in node.items()}


def _sites(value: Any) -> Any:
    return [finer_site(site) for site in value] if isinstance(value, list) else finer_site(value)
