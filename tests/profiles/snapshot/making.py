"""Snapshots of differentials that are written by hand, on the published types of FHIR R4."""

from __future__ import annotations

from bridge.profiles.facts import facts
from bridge.profiles.snapshot import snapshot

from .published import Json, shelf

CORE = "http://hl7.org/fhir/StructureDefinition/"
OWN = "https://example.org/fhir/StructureDefinition/"


def profile(name: str, base: str, *said: Json, type: str = "") -> Json:
    """A structure that constrains a type or a profile; each element of `said` needs only its id and what it says."""
    canonical = base if ":" in base else CORE + base
    return facts(
        {
            "url": OWN + name,
            "type": type or base,
            "kind": "resource",
            "derivation": "constraint",
            "baseDefinition": canonical,
            "differential": {"element": [_filled(element) for element in said]},
        }
    )


def _filled(element: Json) -> Json:
    if "id" not in element:
        return element
    steps = element["id"].split(".")
    path = ".".join(step.partition(":")[0] for step in steps)
    sliced = steps[-1].partition(":")[2]
    return {"path": path, **({"sliceName": sliced} if sliced else {}), **element}


def make(structure: Json, *others: Json) -> tuple[dict[str, Json], list[str]]:
    """The elements by id, and the problems; `others` are at hand besides R4's types."""
    structures = {**shelf("fhir-r4/profiles-types", "fhir-r4/profiles-resources"), **{o["url"]: o for o in others}}
    elements, problems = snapshot(structure, lambda url: structures.get(url.partition("|")[0]))
    made = {element["id"]: element for element in elements}
    assert len(made) == len(elements)
    return made, problems


def under(made: dict[str, Json], start: str) -> list[str]:
    """What follows `start` in the ids that begin with it, in order."""
    return [id.removeprefix(start) for id in made if id.startswith(start)]
