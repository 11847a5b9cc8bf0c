"""Region packs: what letters hold and how they say it, by whose rules they go out. Data in `mappings/regions/`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from bridge.data import load_yaml, table_path
from bridge.errors import MappingError


@dataclass(frozen=True, slots=True)
class Wording:
    """How days, times and addresses are written."""

    day: str
    month: str
    clock: int
    """12 or 24 hours."""
    address: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Demand:
    """Something that a letter must hold: the field of the visit, and what is said where it is missing."""

    field: str
    heading: str
    told: str
    at: str = ""
    """The field whose things, each by itself, must have it."""
    answered: str = ""
    """Only where the thing's answer is this one."""
    unless: str = ""
    """Not where this field of the thing is true."""
    where: str = ""
    """Only where this field of the thing has something."""
    value: str = ""
    """What the field must say; anything where this is empty."""


@dataclass(frozen=True, slots=True)
class Region:
    name: str
    title: str
    language: str
    time_zone: str
    paper: Literal["A4", "Letter"]
    profiles: Mapping[str, str]
    """By type of resource what is claimed in meta.profile."""
    client_numbers: tuple[str, ...]
    """Short names of the number systems that a letter's head always names."""
    organisation: str
    """Short name of the system of organisation codes; empty where there is none."""
    asks_nhs_numbers: bool
    unconfirmed_as_words: bool
    classifications: tuple[str, ...]
    demands: tuple[Demand, ...]
    wording: Wording
    district: str
    """Element of an Address that a visit's district goes into."""
    asks: Mapping[str, str]


@cache
def region(name: str) -> Region:
    """A region pack by its name. Raises MappingError for one that is not there."""
    if name not in region_names():
        raise MappingError(f"There is no region pack called {name[:60]}.", f"Known are {', '.join(region_names())}.")
    return _read(table_path("regions", f"{name}.yaml"))


@cache
def region_names() -> tuple[str, ...]:
    """Every region pack that is there."""
    return tuple(sorted(path.stem for path in table_path("regions").glob("*.yaml")))


def document_language(pack: Region, language: str) -> str:
    """The tag of what is written by this pack in a language: `en-GB`, `de-GB`; the pack's own where none is named."""
    own, _, where = pack.language.partition("-")
    return f"{language or own}-{where}" if where else language or own


def region_of_language(language: str) -> Region:
    """The pack that a finished document was written by, from its language; the international one for any other."""
    return _by_place().get(language.partition("-")[2]) or region("international")


@cache
def _by_place() -> dict[str, Region]:
    """Packs by the part of their language tags that names the country."""
    return {region(name).language.partition("-")[2]: region(name) for name in region_names()}


def organisation_systems() -> frozenset[str]:
    """Short names of the systems of organisation codes of all packs."""
    return frozenset(region(name).organisation for name in region_names()) - {""}


def _read(path: Path) -> Region:
    data: dict[str, Any] = load_yaml(path)
    dates, numbers = data["dates"], data["identifiers"]
    return Region(
        name=data["name"],
        title=data["title"],
        language=data["language"],
        time_zone=data.get("time_zone", ""),
        paper=data["paper"],
        profiles=data["profiles"],
        client_numbers=tuple(numbers["client"]),
        organisation=numbers.get("organisation", ""),
        asks_nhs_numbers=data["nhs_numbers"],
        unconfirmed_as_words=data["unconfirmed"] == "words only",
        classifications=tuple(data["classifications"]),
        demands=tuple(Demand(**row) for row in data["demands"]),
        wording=Wording(dates["day"], dates["month"], data["clock"], tuple(data["address"])),
        district=data["district"],
        asks=data["asks"],
    )
