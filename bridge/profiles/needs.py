"""What a definition refers to: the addresses of other definitions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.profiles.versions import split
from bridge.shapes import Json

BOUND = ("required", "extensible")
LANGUAGE = "http://hl7.org/fhirpath/"


def of_structure(structure: Json) -> Iterator[str]:
    """Profiles, types and value sets without their versions; some of them more than once."""
    for element in structure.get("elements", ()):
        for row in element.get("type", ()):
            for key in ("profile", "targetProfile"):
                yield from map(_plain, row.get(key, ()))
        binding = element.get("binding", {})
        if binding.get("strength") in BOUND and "valueSet" in binding:
            yield _plain(binding["valueSet"])
        for row in binding.get("extension", ()):
            if isinstance(largest := row.get("valueCanonical"), str):
                yield _plain(largest)


def of_value_set(value_set: Json) -> Iterator[str]:
    """Value sets that it is made of, and code systems of which it does not list the codes itself."""
    for key in ("include", "exclude"):
        for part in value_set.get(key, ()):
            if "system" in part and "codes" not in part:
                yield _plain(part["system"])
            yield from map(_plain, part.get("sets", ()))


def _plain(canonical: Any) -> str:
    return split(str(canonical))[0]
