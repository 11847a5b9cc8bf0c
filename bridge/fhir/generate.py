"""Developer tool: compact tables of facts from the published FHIR R4 4.0.1 definitions.

    python -m bridge.fhir.generate DEFINITIONS_FOLDER TARGET

DEFINITIONS_FOLDER holds the published bundles `profiles-resources.json`, `profiles-types.json`,
`valueset-expansions.json` and `extension-definitions.json`, plain or gzipped. The same definitions give the same bytes.
"""

from __future__ import annotations

import gzip
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bridge.errors import InputError
from bridge.fhir.generate_extensions import extensions

Definition = dict[str, Any]
PROFILE = "http://hl7.org/fhir/StructureDefinition/"
VALUE_SET = "http://hl7.org/fhir/ValueSet/"
FHIR_TYPE = "http://hl7.org/fhir/StructureDefinition/structuredefinition-fhir-type"
MAX_VALUE_SET = "http://hl7.org/fhir/StructureDefinition/elementdefinition-maxValueSet"
SAME_SET = {"http://www.rfc-editor.org/bcp/bcp13.txt": f"{VALUE_SET}mimetypes"}
"""Sets that are named in two ways."""
NOT_WHOLE = (
    "http://hl7.org/fhir/StructureDefinition/valueset-toocostly",
    "http://hl7.org/fhir/StructureDefinition/valueset-unclosed",
)
CORRECTED = {"Resource.id": "id"}
"""The definition files call it a string; https://hl7.org/fhir/R4/resource.html#id calls it an id."""


def generate(definitions: Path, target: Path) -> list[Path]:
    """Write `elements.json`, `codes.json`, `invariants.json` and `extensions.json` into `target`; the paths written.

    Raises InputError when the definitions are missing or are not what this tool understands.
    """
    structures = [s for name in ("profiles-types", "profiles-resources") for s in _structures(definitions, name)]
    editions = {s["version"] for s in structures}
    if len(editions) != 1:
        raise InputError(f"The definitions are of several editions: {', '.join(sorted(editions))}.")
    about = {
        "origin": "HL7 FHIR R4 definitions as published with the specification, https://hl7.org/fhir/R4",
        "edition": editions.pop(),
        "licence": "CC0-1.0",
        "made_by": "python -m bridge.fhir.generate; never edited by hand",
    }
    types = {name: rows for s in structures for name, rows in _types(s)}
    _check_inheritance(structures, types)
    sets, left_out = _code_sets(definitions, types)
    tables = {
        "elements.json": {"about": {**about, "corrected": CORRECTED}, "types": types},
        "codes.json": {
            "about": {**about, "left_out": left_out, "why_left_out": "no complete expansion is published"},
            "sets": sets,
        },
        "invariants.json": {"about": about, "invariants": _invariants(structures)},
        "extensions.json": {
            "about": about,
            "extensions": extensions(_resources(definitions, "extension-definitions"), PROFILE),
        },
    }
    target.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        (target / name).write_bytes(_lines(table))
    return [target / name for name in tables]


def _resources(folder: Path, name: str) -> list[Definition]:
    for path, opener in ((folder / f"{name}.json", open), (folder / f"{name}.json.gz", gzip.open)):
        if path.exists():
            with opener(path, "rb") as stream:
                return [entry["resource"] for entry in json.load(stream)["entry"]]
    raise InputError(f"{folder} holds neither {name}.json nor {name}.json.gz.")


def _structures(folder: Path, name: str) -> Iterator[Definition]:
    """Resource and data types; no profiles on them and no logical models."""
    for resource in _resources(folder, name):
        if (
            resource["resourceType"] == "StructureDefinition"
            and resource.get("derivation") != "constraint"
            and resource["kind"] != "logical"
        ):
            yield resource


def _types(structure: Definition) -> Iterator[tuple[str, Definition]]:
    """The type itself and each of its inner structures, with the elements that it adds to its base."""
    elements = structure["snapshot"]["element"]
    parents = {e["path"].rpartition(".")[0] for e in elements}
    for head in elements:
        path = head["path"]
        if path not in parents and path != structure["type"]:
            continue
        base = structure.get("baseDefinition", "") if path == structure["type"] else head["type"][0]["code"]
        kind = {"primitive-type": "primitive", "complex-type": "data"}.get(structure["kind"], structure["kind"])
        own = {
            e["path"].rpartition(".")[2]: _element(e, parents)
            for e in elements
            if e["path"].rpartition(".")[0] == path and e["base"]["path"] == e["path"] and kind != "primitive"
        }
        yield (
            path,
            {
                "kind": kind if path == structure["type"] else "part",
                **({"abstract": True} if structure["abstract"] else {}),
                **({"base": base.removeprefix(PROFILE)} if base else {}),
                "elements": own,
            },
        )


def _element(element: Definition, parents: set[str]) -> Definition:
    path = element["path"]
    row: Definition = {}
    if "xmlAttr" in element.get("representation", ()):
        row["attribute"] = True
    if element["min"]:
        row["min"] = element["min"]
    if element["max"] != "1":
        row["max"] = element["max"]
    types = element.get("type", [])
    if path in parents:
        row["types"] = [path]
    elif "contentReference" in element:
        row["types"] = [element["contentReference"].removeprefix("#")]
    else:
        row["types"] = [CORRECTED.get(path) or _type_code(t) for t in types]
    targets = sorted(
        {p.removeprefix(PROFILE) for t in types if t["code"] == "Reference" for p in t.get("targetProfile", ())}
    )
    if targets:
        row["targets"] = targets
    shapes = sorted({p.removeprefix(PROFILE) for t in types if t["code"] == "Quantity" for p in t.get("profile", ())})
    if shapes:
        row["shapes"] = shapes
    value_set = _value_set(element.get("binding", {}), row["types"])
    if value_set:
        row["codes"] = value_set.partition("|")[0].removeprefix(VALUE_SET)
    return row


def _value_set(binding: Definition, types: list[str]) -> str:
    """What is required here; beyond a set that is only preferred, the largest one that is allowed for a plain code."""
    if binding.get("strength") == "required":
        return str(binding.get("valueSet", ""))
    largest = [str(e["valueCanonical"]) for e in binding.get("extension", ()) if e["url"] == MAX_VALUE_SET]
    return SAME_SET.get(largest[0], largest[0]) if largest and types == ["code"] else ""


def _type_code(row: Definition) -> str:
    for extension in row.get("extension", ()):
        if extension["url"] == FHIR_TYPE:
            return str(extension["valueUrl"])
    return str(row["code"])


def _check_inheritance(structures: list[Definition], types: Definition) -> None:
    """What a type takes from its base must be unchanged there, or this table would tell it wrongly."""
    for structure in structures:
        for element in structure["snapshot"]["element"]:
            parent, _, name = element["path"].rpartition(".")
            base_parent, _, base_name = element["base"]["path"].rpartition(".")
            if not parent or element["base"]["path"] == element["path"] or structure["kind"] == "primitive-type":
                continue
            there = types[base_parent]["elements"][base_name]
            here = _element(element, set())
            if (there.get("min"), there.get("max")) != (here.get("min"), here.get("max")) or name != base_name:
                raise InputError(f"{element['path']} changes what it takes from {element['base']['path']}.")


def _code_sets(folder: Path, types: Definition) -> tuple[Definition, list[str]]:
    """Codes by system of every value set that a required binding names; and the sets left out."""
    wanted = sorted({e["codes"] for t in types.values() for e in t["elements"].values() if "codes" in e})
    expansions = {
        r["url"].removeprefix(VALUE_SET): r["expansion"]
        for r in _resources(folder, "valueset-expansions")
        if r["resourceType"] == "ValueSet"
    }
    sets: Definition = {}
    left_out = []
    for name in wanted:
        expansion = expansions.get(name, {})
        systems: dict[str, list[str]] = {}
        for system, code in _members(expansion):
            systems.setdefault(system, []).append(code)
        if not systems or any(e["url"] in NOT_WHOLE for e in expansion.get("extension", ())):
            left_out.append(name)
        else:
            sets[name] = {system: sorted(set(codes)) for system, codes in sorted(systems.items())}
    return sets, left_out


def _members(node: Definition) -> Iterator[tuple[str, str]]:
    for row in node.get("contains", ()):
        if "code" in row and not row.get("abstract"):
            yield row["system"], row["code"]
        yield from _members(row)


def _invariants(structures: list[Definition]) -> Definition:
    """By path, then key: each constraint where it is defined, not where it is inherited (inv-1 has three meanings)."""
    found: dict[str, Definition] = {}
    for structure in structures:
        for element in structure["snapshot"]["element"]:
            for rule in element.get("constraint", ()):
                source = rule.get("source", structure["url"]).removeprefix(PROFILE)
                if source == structure["type"] and element["base"]["path"] == element["path"]:
                    row = {"severity": rule["severity"], "expression": rule.get("expression", "")}
                    found.setdefault(element["path"], {})[rule["key"]] = row
    return found


def _lines(table: Definition) -> bytes:
    """JSON with one row of the table per line, so that a change of edition can be read as a difference."""
    parts = []
    for key, rows in table.items():
        inner = ",\n".join(f"{_compact(name)}:{_compact(row)}" for name, row in rows.items())
        parts.append(f"{_compact(key)}:{{\n{inner}\n}}")
    return ("{" + ",\n".join(parts) + "}\n").encode()


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    for written in generate(Path(sys.argv[1]), Path(sys.argv[2])):
        print(written, written.stat().st_size, "bytes")
