"""Spells out the short forms of tests/cases/profiles/*.yaml: definitions as their authors write them, and instances."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import yaml

Json = dict[str, Any]
FOLDER = Path(__file__).parents[2] / "cases" / "profiles"
HOME = "https://example.org/fhir"
CORE = "http://hl7.org/fhir/StructureDefinition"
COMPLEX = {
    "Identifier",
    "HumanName",
    "Quantity",
    "Address",
    "Extension",
    "Coding",
    "CodeableConcept",
    "Period",
    "Dosage",
}
MAX_VALUE_SET = f"{CORE}/elementdefinition-maxValueSet"
CALCULATED = ("id", "by", "rules", "ordered", "types", "to", "profiled", "vset", "maxset", "rule")


class Case(NamedTuple):
    """One resource, what it is held against, and what has to be said."""

    name: str
    definitions: list[Json]
    profile: str
    resource: Json
    valid: bool
    at: str
    about: str
    told: str
    says: str


def address(value: Any) -> Any:
    """The same data with `@Name` and `^Name` spelled out."""
    if isinstance(value, dict):
        return {key: address(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [address(inner) for inner in value]
    if not isinstance(value, str):
        return value
    if value.startswith("^") and value[1:2].isalpha():
        return f"{CORE}/{value[1:]}"
    if value.startswith("@vs/"):
        return f"{HOME}/ValueSet/{value[4:]}"
    if value.startswith("@cs/"):
        return f"{HOME}/CodeSystem/{value[4:]}"
    if value.startswith("@") and value[1:2].isupper():
        return f"{HOME}/StructureDefinition/{value[1:]}"
    return value.replace("('@", f"('{HOME}/StructureDefinition/")


def element(row: Json) -> Json:
    """An ElementDefinition of a differential."""
    id = row["id"]
    made: Json = {"id": id, "path": ".".join(step.partition(":")[0] for step in id.split("."))}
    sliced = id.rpartition(".")[2].partition(":")[2]
    if sliced:
        made["sliceName"] = sliced
    if "by" in row:
        by = [{"type": type, "path": path} for type, path in row["by"]]
        made["slicing"] = {"discriminator": by, "rules": row.get("rules", "open")}
        if row.get("ordered"):
            made["slicing"]["ordered"] = True
    if "types" in row:
        made["type"] = [{"code": code} for code in row["types"]]
    if "to" in row:
        made["type"] = [{"code": "Reference", "targetProfile": row["to"]}]
    if "profiled" in row:
        made["type"] = [{"code": code, "profile": profiles} for code, profiles in row["profiled"].items()]
    if "vset" in row:
        made["binding"] = {"strength": row["vset"][0], "valueSet": row["vset"][1]}
        if "maxset" in row:
            made["binding"]["extension"] = [{"url": MAX_VALUE_SET, "valueCanonical": row["maxset"]}]
    if "rule" in row:
        made["constraint"] = [
            {"key": key, "severity": severity, "human": human, "expression": expression}
            for key, severity, expression, human in row["rule"]
        ]
    return {**made, **{key: value for key, value in row.items() if key not in CALCULATED}}


def definition(row: Json) -> Json:
    """A StructureDefinition, ValueSet or CodeSystem from its short form; anything else as it stands."""
    if "sd" in row:
        return structure(row)
    if "vs" in row:
        url = f"@vs/{row['vs']}"
        compose = row.get("compose") or {
            "include": [
                {"system": system, **({"concept": [{"code": code} for code in codes]} if codes else {})}
                for system, codes in row["codes"].items()
            ]
        }
        return {"resourceType": "ValueSet", "url": url, "name": row["vs"], "status": "active", "compose": compose}
    if "cs" in row:
        concepts = row.get("concept") or [{"code": code} for code in row["codes"]]
        made = {"resourceType": "CodeSystem", "url": f"@cs/{row['cs']}", "name": row["cs"], "status": "active"}
        return {**made, "content": "complete", "caseSensitive": True, "concept": concepts}
    return row


def structure(row: Json) -> Json:
    on = row["of"]
    made: Json = {
        "resourceType": "StructureDefinition",
        "url": f"@{row['sd']}",
        "version": row.get("version", "1.0.0"),
        "name": row["sd"],
        "status": "active",
        "fhirVersion": "4.0.1",
        "kind": "primitive-type" if row.get("primitive") else "complex-type" if on in COMPLEX else "resource",
        "abstract": row.get("abstract", False),
        "type": on,
        "baseDefinition": row.get("base", f"^{on}"),
        "derivation": "constraint",
    }
    if "context" in row:
        made["context"] = [{"type": type, "expression": expression} for type, expression in row["context"]]
    if "guards" in row:
        made["contextInvariant"] = row["guards"]
    rows = row["elements"] if any(each["id"] == on for each in row["elements"]) else [{"id": on}, *row["elements"]]
    return {**made, "differential": {"element": [element(each) for each in rows]}}


@cache
def topics() -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in FOLDER.glob("*.yaml") if path.stem != "hostile"))


def read(topic: str) -> Json:
    data: Json = yaml.safe_load((FOLDER / f"{topic}.yaml").read_text(encoding="utf-8"))
    return data


@cache
def cases(topic: str) -> list[Case]:
    data = read(topic)
    definitions = [address(definition(row)) for row in data["definitions"]]
    made = []
    for number, row in enumerate(data["instances"]):
        resource = row.get("resource") or data["start"][row["like"]]
        changed = {key: value for key, value in {**resource, **row.get("with", {})}.items() if value is not None}
        profile = row.get("profile", "")
        profile = address(profile if not profile or ":" in profile or profile[0] in "^@" else f"@{profile}")
        made.append(
            Case(
                f"{topic}[{number}] {row.get('profile', 'as it claims')}",
                definitions,
                profile,
                address(changed),
                row["valid"],
                row.get("at", ""),
                row.get("about", ""),
                row.get("told", ""),
                row.get("says", ""),
            )
        )
    return made
