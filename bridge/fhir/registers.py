"""Professional registers: the visit's register key and the identifier system that FHIR wants."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN


@cache
def _systems() -> dict[str, str]:
    return {row["register"]: row["system"] for row in load_csv(table_path("registers.csv"))}


def register_system(key: str) -> str:
    """Identifier system of a register; one that has no published system stands under our own."""
    return _systems().get(key) or f"{OWN}.{len(key)}" + "".join(f".{ord(c)}" for c in key)


def register_key(system: str) -> str | None:
    """The register behind an identifier system, or None."""
    for key, uri in _systems().items():
        if uri == system:
            return key
    if system.startswith(OWN + "."):
        numbers = system[len(OWN) + 1 :].split(".")
        if all(n.isdigit() for n in numbers) and int(numbers[0]) == len(numbers) - 1:
            return "".join(chr(int(n)) for n in numbers[1:])
    return None


@cache
def _names() -> dict[str, str]:
    return {row["system"]: row["name"] for row in load_csv(table_path("registers.csv"))}


def register_name(system: str) -> str:
    """The register's name for a reader: `Nursing and Midwifery Council`; empty where it is not known."""
    return _names().get(system) or register_key(system) or ""
