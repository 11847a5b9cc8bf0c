"""How resources and acts of CDA correspond: `mappings/cda/entries*.csv`."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from bridge.data import load_csv, table_path
from bridge.fhir.tables import Element, elements

ANY_ACT = ("act", "ACT", "EVN", "", "")
UNKNOWN = "?"
"""In place of a statusCode: its null flavour UNK."""


class Kind(NamedTuple):
    """The act that stands for a type of resource, or for an inner structure."""

    element: str
    class_code: str
    mood: str
    status: str
    code: str


class Row(NamedTuple):
    """Where one element of a type stands in its act."""

    type: str
    path: str
    """`note`, `dosage.text`."""
    place: str
    link: str
    """typeCode of the entryRelationship or the participant."""
    inverted: bool
    element: Element | None
    """The last element of the path; None for the name of a choice (`value`)."""

    @property
    def name(self) -> str:
        """What an act of its own calls the element: `Procedure.outcome`."""
        return f"{self.type}.{self.path}"


class Status(NamedTuple):
    value: str
    code: str
    mood: str
    negated: bool


@cache
def _kinds() -> dict[str, Kind]:
    rows = load_csv(table_path("cda", "entries.csv"))
    return {r["type"]: Kind(r["element"], r["class"], r["mood"], r["status"], r["code"]) for r in rows}


def kind_of(type: str) -> Kind:
    """The act for a type; a plain one for a type that the table does not have."""
    return _kinds().get(type) or Kind(*ANY_ACT)


@cache
def _rows() -> dict[str, tuple[Row, ...]]:
    found: dict[str, list[Row]] = {}
    for row in load_csv(table_path("cda", "entries-elements.csv")):
        link = row["link"].removesuffix("<")
        element = element_at(row["type"], row["element"])
        made = Row(row["type"], row["element"], row["place"], link, link != row["link"], element)
        found.setdefault(row["type"], []).append(made)
    return {type: tuple(rows) for type, rows in found.items()}


def rows_of(type: str) -> tuple[Row, ...]:
    return _rows().get(type, ())


@cache
def element_at(type: str, path: str) -> Element | None:
    """The element at the end of a path; None where the standard has none."""
    found = None
    for key in path.split("."):
        found = elements(type).get(key)
        if found is None:
            return None
        type = found.type
    return found


@cache
def statuses(type: str) -> dict[str, tuple[Status, ...]]:
    """By the path of a status or an intent of the type: what each of its codes is in CDA."""
    found: dict[str, list[Status]] = {}
    for row in load_csv(table_path("cda", "entries-status.csv")):
        if row["type"] == type:
            made = Status(row["value"], row["status"], row["mood"], row["negated"] == "yes")
            found.setdefault(row["element"], []).append(made)
    return {path: tuple(rows) for path, rows in found.items()}


@cache
def codes(group: str) -> dict[str, tuple[str, str]]:
    """Codes of HL7 V3 with their words, by the code of FHIR."""
    rows = load_csv(table_path("cda", "entries-codes.csv"))
    return {row["fhir"]: (row["cda"], row["label"]) for row in rows if row["group"] == group}


@cache
def codes_back(group: str) -> dict[str, str]:
    return {cda: fhir for fhir, (cda, _) in codes(group).items()}
