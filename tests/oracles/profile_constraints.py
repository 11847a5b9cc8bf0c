"""How each constraint that IPS and the vital signs add is broken; UK Core adds none."""

from __future__ import annotations

from collections.abc import Callable

from tests.oracles.seed_definitions import Json

BREAK: dict[str, tuple[str, Callable[[Json], Json | None]]] = {}
"""How a constraint of a profile is broken: the place of the fault, and what makes it."""


def breaks(key: str, at: str = "") -> Callable[[Callable[[Json], Json | None]], Callable[[Json], Json | None]]:
    def kept(make: Callable[[Json], Json | None]) -> Callable[[Json], Json | None]:
        BREAK[key] = (at, make)
        return make

    return kept


@breaks("ips-pat-1", "name[0]")
def _nameless(data: Json) -> Json | None:
    return {**data, "name": [{"use": "usual"}, *data["name"][1:]]} if data.get("name") else None


@breaks("ips-1", "effectiveDateTime")
def _year(data: Json) -> Json | None:
    return {**data, "effectiveDateTime": "2020"} if "effectiveDateTime" in data else None


@breaks("vs-1", "effectiveDateTime")
def _vital_year(data: Json) -> Json | None:
    return _year(data)


@breaks("ips-2")
def _empty(data: Json) -> Json | None:
    gone = ("hasMember", "component", "dataAbsentReason", "referenceRange", "interpretation")
    return {k: v for k, v in data.items() if k not in gone and not k.startswith("value")}


@breaks("vs-2")
def _vital_empty(data: Json) -> Json | None:
    return _empty(data)


@breaks("hasMemberOrComponent")
def _both(data: Json) -> Json | None:
    part = {"code": {"text": "x"}, "valueString": "x"}
    return {**data, "hasMember": [{"reference": "Observation/seeded"}], "component": [part]}


@breaks("bdl-ips-1")
def _two(data: Json) -> Json | None:
    first = data["entry"][0]
    if first["resource"]["resourceType"] != "Composition":
        return None
    again = {
        "fullUrl": "urn:uuid:0c3151bd-1cbf-4d64-b04d-cd9187a4c6e9",
        "resource": {**first["resource"], "id": "again"},
    }
    return {**data, "entry": [*data["entry"], again]}


@breaks("ips-comp-1", "section[0]")
def _no_reason(data: Json) -> Json | None:
    first, *rest = data["section"]
    bare = {k: v for k, v in first.items() if k not in ("entry", "emptyReason")}
    return {**data, "section": [bare, *rest]}
