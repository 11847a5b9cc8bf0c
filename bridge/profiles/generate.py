"""Developer tool: the shelves that are shipped, from the published definitions.

    python -m bridge.profiles.generate STANDARDS TARGET

STANDARDS holds `fhir-r4/` (the published bundles, plain or gzipped), `ips/` and `uk-core/` (the files of the guides as
they are published). The same definitions give the same bytes.
"""

from __future__ import annotations

import gzip
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from bridge.errors import InputError
from bridge.issues import Where
from bridge.profiles.making import Making
from bridge.profiles.package import Package
from bridge.profiles.shelf import Shelf, laid_out
from bridge.shapes import Json

MADE_BY = "python -m bridge.profiles.generate; never edited by hand"
R4 = {
    "origin": "HL7 FHIR R4 definitions as published with the specification, https://hl7.org/fhir/R4",
    "edition": "4.0.1",
    "licence": "CC0-1.0; value sets quote codes of SNOMED CT, LOINC and UCUM under their own terms",
    "made_by": MADE_BY,
    "names": ["hl7.fhir.r4.core", "hl7.fhir.r4.expansions"],
    "version": "4.0.1",
}
IPS = {
    "origin": "HL7 International Patient Summary implementation guide, http://hl7.org/fhir/uv/ips",
    "edition": "2.0.0",
    "licence": "CC0-1.0; value sets quote codes of SNOMED CT and LOINC under their own terms",
    "made_by": MADE_BY,
    "names": ["hl7.fhir.uv.ips"],
    "version": "2.0.0",
}
UK_CORE = {
    "origin": "HL7 UK Core profiles, value sets and code systems as differentials, snapshots made by us",
    "edition": "UKCore.R4.STU.02.00.00, 20 Jun 2025",
    "licence": "Apache-2.0; value sets quote codes of SNOMED CT under their own terms",
    "made_by": MADE_BY,
    "names": ["UKCore.R4.STU.02.00.00", "fhir.r4.ukcore.stu2"],
    "version": "2.0.0",
}
NOT_WHOLE = (
    "http://hl7.org/fhir/StructureDefinition/valueset-toocostly",
    "http://hl7.org/fhir/StructureDefinition/valueset-unclosed",
)
_UK_FOLDERS = ("structuredefinitions", "valuesets", "codesystems")


def generate(standards: Path, target: Path) -> list[Path]:
    """Writes the shelves into `target`; the paths written. Raises InputError where definitions are missing or odd."""
    r4 = standards / "fhir-r4"
    types = _shelf(_bundles(r4, "profiles-types", "profiles-resources"), R4, [], plain=True)
    profiles = _shelf(_bundles(r4, "profiles-others", "extension-definitions"), R4, [types])
    terminology = _shelf(_terminology(r4), R4, [])
    ips = _shelf(_package(standards / "ips"), IPS, [types, profiles])
    uk = [one for name in _UK_FOLDERS for one in _package(standards / "uk-core" / name)]
    uk_core = _shelf(uk, UK_CORE, [types, profiles])
    made = {"r4-types": types, "r4-profiles": profiles, "r4-terminology": terminology, "ips": ips, "uk-core": uk_core}
    target.mkdir(parents=True, exist_ok=True)
    for name, content in made.items():
        plain = Shelf(content)
        (target / f"{name}.shelf").write_bytes(laid_out(plain.about, plain.rows(), packed=True))
    return [target / f"{name}.shelf" for name in made]


def _shelf(definitions: Sequence[Json], about: Json, below: Sequence[bytes], plain: bool = False) -> bytes:
    shelves = [Shelf(content) for content in below]

    def outside(canonical: str) -> Json | None:
        url = canonical.partition("|")[0]
        found = (s.get("structures", url, v) for s in shelves for v, _ in s.versions("structures", url)[:1])
        return next(found, None)

    making = Making(outside, lambda file: Where(file=file), lambda url: False, [], profiles=not plain)
    for definition in definitions:
        making.take("", definition)
    content = making.shelf(about)
    if making.issues:
        raise InputError(f"The definitions are odd: {making.issues[0].message}")
    return content


def _bundles(folder: Path, *names: str) -> list[Json]:
    return [one for name in names for one in _resources(folder, name) if one["resourceType"] == "StructureDefinition"]


def _terminology(folder: Path) -> list[Json]:
    """Value sets and code systems, with the expansion where the composition alone does not tell the members."""
    names = ("valuesets", "v3-codesystems", "v2-tables")
    found = [one for name in names for one in _resources(folder, name)]
    whole = {one["url"] for one in found if one["resourceType"] == "CodeSystem" and one["content"] == "complete"}
    expansions = {one["url"]: one["expansion"] for one in _resources(folder, "valueset-expansions")}
    for one in found:
        if one["resourceType"] == "ValueSet":
            expansion = expansions.get(one["url"], {"extension": [{"url": NOT_WHOLE[0]}]})
            if _is_whole(expansion) and not _tells(one, whole):
                one["expansion"] = expansion
            else:
                one.pop("expansion", None)
    return found


def _tells(value_set: Json, whole: set[str]) -> bool:
    compose = value_set.get("compose", {})
    parts = [*compose.get("include", ()), *compose.get("exclude", ())]
    return bool(parts) and all(
        "filter" not in part and ("concept" in part or "system" not in part or part["system"] in whole)
        for part in parts
    )


def _is_whole(expansion: Json) -> bool:
    return not any(row.get("url") in NOT_WHOLE for row in expansion.get("extension", ()))


def _package(folder: Path) -> list[Json]:
    package = Package(folder)
    found = [definition for _, definition in package.definitions()]
    if package.issues:
        raise InputError(f"{folder.name}: {package.issues[0].message}")
    return found


def _resources(folder: Path, name: str) -> Iterator[Any]:
    for path, opener in ((folder / f"{name}.json", open), (folder / f"{name}.json.gz", gzip.open)):
        if path.exists():
            with opener(path, "rb") as stream:
                yield from (entry["resource"] for entry in json.load(stream)["entry"])
            return
    raise InputError(f"{folder} holds neither {name}.json nor {name}.json.gz.")


if __name__ == "__main__":
    for path in generate(Path(sys.argv[1]), Path(sys.argv[2])):
        print(path)
