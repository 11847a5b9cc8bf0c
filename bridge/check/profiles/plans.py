"""Profiles of a library, made ready once: the outermost part of each, with what is active in it."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.check.profiles.part import Part
from bridge.fhir import tables
from bridge.profiles.library import Library
from bridge.shapes import Json

CORE = "http://hl7.org/fhir/StructureDefinition/"


class Plans:
    """The profiles of one library by their addresses."""

    def __init__(self, library: Library) -> None:
        self.library = library
        self._roots: dict[str, Part | None] = {}
        self._about: dict[str, Json | None] = {}
        self._settling: set[str] = set()

    def about(self, url: str) -> Json | None:
        """What stands on top of a profile (name, type, version); None where it is not at hand."""
        if url not in self._about:
            self._about[url] = self.library.profile(url)
        return self._about[url]

    def root(self, url: str) -> Part | None:
        """The outermost part of a profile; None where it is not at hand."""
        if url not in self._roots:
            profile = self.about(url)
            self._roots[url] = root = Part(profile["root"], name_of(profile)) if profile else None
            if root is not None:
                self._settling.add(url)
                root.settle(self._idle)
                self._settling.discard(url)
        return self._roots[url]

    def roots(self, urls: Iterable[str]) -> list[Part]:
        return [root for url in urls if (root := self.root(url)) is not None]

    def type_of(self, url: str) -> str:
        """The type of resource or data that a profile is about; also of a type itself. Empty where it is not known."""
        plain = url.partition("|")[0]
        name = plain.removeprefix(CORE)
        if plain.startswith(CORE) and tables.knows(name):
            return name
        profile = self.about(url)
        return str(profile.get("type", "")) if profile else ""

    def imposed(self, url: str) -> list[str]:
        """Profiles to which whatever conforms to this one has to conform as well."""
        found: list[str] = (self.about(url) or {}).get("imposes", [])
        return found

    def is_type(self, url: str) -> bool:
        """Whether this is a type of the standard itself, which asks for nothing more."""
        plain = url.partition("|")[0]
        return plain.startswith(CORE) and tables.knows(plain.removeprefix(CORE))

    def _idle(self, url: str) -> bool:
        """Whether a profile of a data type asks for nothing beyond the type. Extensions are held against their
        definitions wherever they stand."""
        if self.is_type(url):
            return True
        profile = self.about(url)
        if profile is None or profile.get("kind") == "resource" or url in self._settling:
            return False
        if profile.get("type") == "Extension":
            return True
        root = self.root(url)
        return root is not None and not root.active


def name_of(profile: Json) -> str:
    """What to call a profile in a sentence."""
    return str(profile.get("name") or profile.get("url") or "the profile")[:60]
