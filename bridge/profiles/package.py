"""A package of definitions: a `.tgz` in the layout of FHIR packages, a folder, a bundle, or one file.

Source: https://hl7.org/fhir/R5/packages.html; the manifest (`package.json`) names the package,
its version, the versions of FHIR it is for and the packages it needs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bridge.fhir.read_json import read_json
from bridge.fhir.xml_text import is_xml
from bridge.issues import Issue, Where, issue
from bridge.profiles.files import Files
from bridge.profiles.versions import cut
from bridge.shapes import Json

DEFINITIONS = frozenset({"StructureDefinition", "ValueSet", "CodeSystem"})
EDITION = "4.0."
MOST_NEEDED = 200
_TYPE = re.compile(rb'\s*\{\s*"resourceType"\s*:\s*"(\w{1,60})"')
_TYPE_LATER = re.compile(rb'"resourceType"\s*:\s*"(?:StructureDefinition|ValueSet|CodeSystem)"')
_TYPE_XML = re.compile(rb"<(?:\w{1,20}:)?(?:StructureDefinition|ValueSet|CodeSystem)[\s>]")


class Package:
    """Go through `definitions()` once; after that `about` and `issues` are whole."""

    def __init__(self, path: Path) -> None:
        self._files = Files(path)
        self._told: list[Issue] = []
        self.about: Json = {"file": path.name}

    @property
    def issues(self) -> list[Issue]:
        return [*self._files.issues, *self._told]

    def place(self, name: str) -> Where:
        """Where a file of the package is."""
        return self._files.place(name)

    def definitions(self) -> Iterator[tuple[str, Json]]:
        """The definitions with the names of their files."""
        count, manifest = 0, False
        for name, content in self._files:
            if name.rpartition("/")[2] == "package.json" and not manifest:
                manifest = True
                self._manifest(name, content)
                continue
            for definition in self._within(name, content):
                count += 1
                yield name, definition
        path = self._files.path
        if not count and not any(one.rule in ("P150", "P156") for one in self._files.issues):
            self._tell("P150", f"{cut(path.name)} holds no definitions of profiles, value sets or code systems.")
        elif count and path.suffix.lower() in (".tgz", ".gz") and not manifest:
            self._tell("P151", "There is no package/package.json; what this package is and needs is not known.")

    def _tell(self, rule: str, words: str, name: str = "") -> None:
        self._told.append(issue(rule, words, self._files.place(name)))

    def _within(self, name: str, content: bytes) -> Iterator[Json]:
        if not _worth_reading(content):
            return
        data, found = _read(content, name)
        if data is None:
            why = found[0].message if found else "There is nothing in it."
            self._tell("P151", f"It cannot be read. {why}", name)
        elif isinstance(data, dict):
            yield from definitions_in(data)

    def _manifest(self, name: str, content: bytes) -> None:
        data, _ = _read(content, name)
        if not isinstance(data, dict):
            self._tell("P151", "It cannot be read, so what this package is and needs is not known.", name)
            return
        self.about |= {k: data[k] for k in ("name", "version", "canonical") if isinstance(data.get(k), str)}
        needed = data.get("dependencies")
        if isinstance(needed, dict):
            self.about["dependencies"] = {
                key: value for key, value in [*needed.items()][:MOST_NEEDED] if isinstance(value, str)
            }
        editions = data.get("fhirVersions", data.get("fhir-version-list"))
        editions = [editions] if isinstance(editions, str) else editions
        if isinstance(editions, list) and editions and not any(str(one).startswith(EDITION) for one in editions):
            told = ", ".join(cut(one) for one in editions[:3])
            self._tell("P153", f"The package is for FHIR {told}, and only R4 (4.0.1) is checked here.", name)


def _worth_reading(content: bytes) -> bool:
    """Whether a definition may be in there; most other files can be passed over by their beginning."""
    if not content:
        return False
    first = _TYPE.match(content[:300])
    if first is not None and first[1].decode() not in {*DEFINITIONS, "Bundle"}:
        return False
    if first is None and content[:100].lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"{", b"<")):
        return bool(_TYPE_LATER.search(content) or _TYPE_XML.search(content)) or len(content) < 1000
    return True


def _read(content: bytes, name: str) -> tuple[Any, list[Issue]]:
    if not is_xml(content):
        return read_json(content, name)
    from bridge.fhir.read_xml import read_xml

    return read_xml(content, name)


def definitions_in(data: Json) -> Iterator[Json]:
    """The definition, or those of a bundle and of bundles in it; nothing else."""
    left: list[Any] = [data]
    while left:
        one = left.pop()
        if not isinstance(one, dict):
            continue
        if one.get("resourceType") == "Bundle":
            entries = one.get("entry")
            rows = (
                [row.get("resource") for row in entries if isinstance(row, dict)] if isinstance(entries, list) else ()
            )
            left += reversed(rows or ())
        elif isinstance(type := one.get("resourceType"), str) and type in DEFINITIONS:
            yield one
