"""Codes of the project's own code system for observation kinds and fixed answers, and verified codes."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.errors import MappingError
from bridge.fhir.systems import OWN, system
from bridge.shapes import Json


@cache
def _rows() -> dict[str, dict[str, str]]:
    """Rows of mappings/codes by the code's short name."""
    paths = sorted(table_path("codes").glob("*.csv"))
    return {f"{row['system']}:{row['code']}": row for path in paths for row in load_csv(path)}


@cache
def verified() -> dict[str, Json]:
    """Every verified external code as a Coding, by its short name (`sct:17621005`)."""
    return {
        name: {"system": system(row["system"]), "code": row["code"], "display": row["display"]}
        for name, row in _rows().items()
    }


@cache
def licensed() -> frozenset[str]:
    """Short names of the codes that only those with a licence of their own may send."""
    return frozenset(name for name, row in _rows().items() if row["set"] == "licensed")


@cache
def sided() -> frozenset[str]:
    """Short names of the codes that name an ear, or both, by themselves."""
    return frozenset(name for name, row in _rows().items() if row["laterality"] != "none")


@cache
def unplaced() -> frozenset[str]:
    """Short names of the codes that mean something only beside the field where they stand (17621005 Normal)."""
    return frozenset(name for name, row in _rows().items() if row["tag"] == "qualifier value")


def coding(name: str) -> Json:
    """A fresh Coding for `sct:...`, `loinc:...`; MappingError where the code is not in mappings/codes."""
    try:
        return dict(verified()[name])
    except KeyError:
        raise MappingError(f"The code {name} is not in mappings/codes.") from None


@cache
def meanings() -> dict[str, frozenset[tuple[str, str]]]:
    """Verified codes, as system and code, by the own code of the shipped concept that stands for them."""
    found = {}
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            if row.get("concept") and row["codes"]:
                codes = (verified()[name] for name in row["codes"].split())
                found[row["concept"]] = frozenset((c["system"], c["code"]) for c in codes)
    return found


@cache
def kinds() -> dict[str, dict[str, str]]:
    """Rows of mappings/observations.csv by kind."""
    return {row["kind"]: row for row in load_csv(table_path("observations.csv"))}


def kind(name: str, text: str = "") -> Json:
    """CodeableConcept of an Observation's or a component's code."""
    row = kinds()[name]
    own = {"system": OWN, "code": name, "display": row["label"]}
    return {"coding": [*map(coding, row["codes"].split()), own], "text": text or row["label"]}


@cache
def _fixed() -> dict[tuple[str, str], dict[str, str]]:
    return {(row["group"], row["word"]): row for row in load_csv(table_path("own-codes.csv"))}


@cache
def _words() -> dict[tuple[str, str], str]:
    return {(group, row["code"]): word for (group, word), row in _fixed().items()}


def fixed(group: str, word: str, text: str = "") -> Json:
    """CodeableConcept of a fixed answer: `fixed("view", "partial")`."""
    row = _fixed()[(group, word)]
    own = {"system": OWN, "code": row["code"], "display": row["label"]}
    return {"coding": [*map(coding, row["codes"].split()), own], "text": text or row["label"]}


def own_code(concept: Any) -> str | None:
    """The own code among a CodeableConcept's codings, or None."""
    codings = concept.get("coding") if isinstance(concept, dict) else None
    for found in codings if isinstance(codings, list) else ():
        if isinstance(found, dict) and found.get("system") == OWN and isinstance(found.get("code"), str):
            return str(found["code"])
    return None


def word(group: str, concept: Any) -> str | None:
    """The fixed answer that a CodeableConcept stands for, or None."""
    code = own_code(concept)
    return _words().get((group, code)) if code else None


def first_word(group: str, concepts: Iterable[Any]) -> str | None:
    return next((found for found in (word(group, c) for c in concepts) if found), None)
