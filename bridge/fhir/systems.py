"""The URIs of code and identifier systems by short name, from `mappings/systems.csv`.

A CSV and not YAML because every command reads it: 55 rows cost well under a millisecond.
"""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.errors import MappingError


@cache
def systems() -> dict[str, str]:
    """Every short name with its URI."""
    return {row["name"]: row["uri"] for row in load_csv(table_path("systems.csv"))}


def system(name: str) -> str:
    """The URI for a short name (`sct`, `v3-ActCode`, `nhs-number`). Raises MappingError for an unknown one."""
    try:
        return systems()[name]
    except KeyError:
        raise MappingError(f"There is no system called {name} in systems.csv.") from None


@cache
def _names() -> dict[str, str]:
    return {uri: name for name, uri in systems().items()}


def short_name(uri: str) -> str | None:
    """The short name for a URI; None for a system that we do not know."""
    return _names().get(uri)


OWN = system("own")
"""Our own code system: every concept of the term maps and every kind of observation is a code in it."""
SCT = system("sct")
LOINC = system("loinc")
UCUM = system("ucum")
