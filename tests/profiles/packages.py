"""Packages that tests make: small definitions under an address of nobody's."""

from __future__ import annotations

import io
import json
import tarfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

HERE = "http://example.org/fhir/StructureDefinition/"
CORE = "http://hl7.org/fhir/StructureDefinition/"


def profile(name: str, base: str = f"{CORE}Patient", /, *elements: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A profile of Patient in its differential; without elements it asks for a birth date."""
    asked = elements or ({"id": "Patient.birthDate", "path": "Patient.birthDate", "min": 1},)
    return {
        "resourceType": "StructureDefinition",
        "url": HERE + name,
        "version": "1.0.0",
        "name": name,
        "status": "active",
        "fhirVersion": "4.0.1",
        "kind": "resource",
        "abstract": False,
        "type": "Patient",
        "baseDefinition": base,
        "derivation": "constraint",
        "differential": {"element": list(asked)},
    } | more


def manifest(**more: Any) -> dict[str, Any]:
    return {"name": "example.hearing", "version": "1.0.0", "fhirVersions": ["4.0.1"]} | more


def packed(path: Path, files: dict[str, Any], extra: Iterable[tarfile.TarInfo] = ()) -> Path:
    """A .tgz of these files (data is written as JSON), and of entries without content."""
    with tarfile.open(path, "w:gz") as tar:
        for name, data in files.items():
            content = data if isinstance(data, bytes) else json.dumps(data).encode()
            member = tarfile.TarInfo(name)
            member.size = len(content)
            tar.addfile(member, io.BytesIO(content))
        for member in extra:
            tar.addfile(member)
    return path


def package(path: Path, *definitions: dict[str, Any], **more: Any) -> Path:
    """A proper one."""
    files = {f"package/{number}.json": one for number, one in enumerate(definitions)}
    return packed(path, {"package/package.json": manifest(**more), **files})


def least(profile: dict[str, Any] | None, name: str) -> int | None:
    """How often a profile asks for an element under its root; None where it says nothing of it."""
    assert profile is not None
    return next((part.get("min") for part in profile["root"].get("parts", ()) if part["name"] == name), None)
