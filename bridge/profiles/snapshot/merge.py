"""What a differential says of an element, laid over what its base says.

Sources: https://hl7.org/fhir/R4/profiling.html and elementdefinition.html ("Interpretation in different contexts").
"""

from __future__ import annotations

from collections.abc import Iterable

from bridge.profiles.snapshot.problems import Problems
from bridge.profiles.versions import cut
from bridge.shapes import Json

_REPLACED = ("fixed", "pattern", "minValue", "maxValue", "maxLength", "isModifier", "mustSupport")
MAX_VALUE_SET = "http://hl7.org/fhir/StructureDefinition/elementdefinition-maxValueSet"
_SLICE = ("sliceName", "sliceIsConstraining")
_ABSTRACT = frozenset({"Resource", "DomainResource", "Element", "BackboneElement", "*"})
_SYSTEM = "http://hl7.org/fhirpath/System."
_STRENGTHS = ("example", "preferred", "extensible", "required")


def merge(base: Json, said: Json, source: str, where: str, problems: Problems, slice: bool = False) -> Json:
    """A new element. `slice`: it is the first word on a slice, of which fewer may be there than of the whole."""
    made = dict(base)
    least, most = base.get("min", 0), base.get("max", "*")
    if "min" in said:
        made["min"] = said["min"]
        if said["min"] < least and not slice:
            problems.tell(f"{cut(where)} may be there less often ({said['min']}) than its base demands ({least}).")
    elif slice:
        made["min"] = 0
    if "max" in said:
        made["max"] = said["max"]
        if _number(said["max"]) > _number(most):
            problems.tell(f"{cut(where)} may be there more often ({cut(said['max'])}) than by its base ({cut(most)}).")
    if made.get("min", 0) > _number(made.get("max", "*")):
        problems.tell(f"{cut(where)} must be there more often ({made['min']}) than it may be ({cut(made.get('max'))}).")
    made.update({key: value for key, value in said.items() if key in _SLICE or key.startswith(_REPLACED)})
    if "type" in said:
        made["type"] = _types(base.get("type", []), said["type"], where, problems)
    if "binding" in said:
        made["binding"] = _binding(base.get("binding", {}), said["binding"], where, problems)
    if "slicing" in said:
        made["slicing"] = {**base.get("slicing", {}), **said["slicing"]}
    if "constraint" in said:
        made["constraint"] = constraints(base.get("constraint", []), said["constraint"], source)
    if "contentReference" in said and "type" not in said and "type" not in base:
        made["contentReference"] = said["contentReference"]
    return made


def constraints(base: list[Json], said: Iterable[Json], source: str) -> list[Json]:
    """Those of the base, then those said here with where they come from; one with a known key takes its place."""
    made = {row["key"]: row for row in base}
    for row in said:
        made[row["key"]] = row if "source" in row else {**row, "source": source}
    return list(made.values())


def _types(base: list[Json], said: list[Json], where: str, problems: Problems) -> list[Json]:
    known: dict[str, Json] = {}
    for row in base:
        known[row["code"]] = {"code": row["code"]} if row["code"] in known else row
    made = []
    for row in said:
        code = row["code"]
        old = known.get(code)
        if old is None and known and not _may_be(known):
            problems.tell(f"{cut(where)} may not be of type {cut(code)} by its base.")
        made.append({**old, **row} if old is not None else row)
    return made


def _may_be(known: Iterable[str]) -> bool:
    """Whether a type can stand where the base names an abstract one, or one below the types of FHIR."""
    return any(one in _ABSTRACT or one.startswith(_SYSTEM) for one in known)


def _binding(base: Json, said: Json, where: str, problems: Problems) -> Json:
    made = {**said}
    old, new = base.get("strength"), said.get("strength")
    if old in _STRENGTHS and new in _STRENGTHS and _STRENGTHS.index(new) < _STRENGTHS.index(old):
        problems.tell(f"{cut(where)} is bound more loosely ({new}) than by its base ({old}).")
    if "valueSet" not in said and "valueSet" in base:
        made["valueSet"] = base["valueSet"]
    if "strength" not in said and old is not None:
        made["strength"] = old
    largest = [row for row in base.get("extension", ()) if row.get("url") == MAX_VALUE_SET]
    if largest and not any(row.get("url") == MAX_VALUE_SET for row in said.get("extension", ())):
        made["extension"] = [*said.get("extension", ()), *largest]
    return made


def _number(most: str) -> float:
    return int(most) if most.isdecimal() and len(most) < 10 else float("inf")
