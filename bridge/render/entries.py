"""The resources of a bundle, and what their references point to."""

from __future__ import annotations

from functools import cached_property

from bridge.ear_words import EARS, Ear
from bridge.errors import InputError
from bridge.fhir.letter_kind import letter_kind
from bridge.fhir.shaped import shaped
from bridge.fhir.tell import ear
from bridge.regions import Region, region_of_language
from bridge.shapes import Json

TOOL = "visit-bridge"
"""The device name under which this tool signs a Composition as one of its authors."""


class Entries:
    """Raises InputError for what is no Bundle."""

    def __init__(self, bundle: Json) -> None:
        document = shaped(bundle)
        if document is None or document["resourceType"] != "Bundle":
            raise InputError("This is not a FHIR bundle, so there is no letter in it.")
        self.bundle: Json = document
        self.resources: list[Json] = []
        self._by_url: dict[str, Json] = {}
        for entry in document.get("entry", ()):
            resource = entry.get("resource")
            if resource:
                self.resources.append(resource)
                self._by_url.setdefault(str(entry.get("fullUrl", "")), resource)
        for resource in self.resources:
            self._by_url.setdefault(f"{resource['resourceType']}/{resource.get('id', '')}", resource)
        self.composition: Json = next(iter(self.of("Composition")), {})

    def of(self, type: str) -> list[Json]:
        return [r for r in self.resources if r["resourceType"] == type]

    @cached_property
    def by_ear(self) -> dict[Ear, list[Json]]:
        """The resources about one ear, by the ear."""
        found: dict[Ear, list[Json]] = {side: [] for side in EARS}
        for resource in self.resources:
            if side := ear(resource):
                found[side].append(resource)
        return found

    def get(self, reference: Json | None) -> Json | None:
        """What a reference points to inside the bundle; None for anything outside."""
        url = str((reference or {}).get("reference", ""))
        if not url:
            return None
        return self._by_url.get(url) or self._by_url.get("/".join(url.split("/_history/")[0].split("/")[-2:]))

    def all(self, references: list[Json]) -> list[Json]:
        return [found for found in map(self.get, references) if found]

    @property
    def kind(self) -> str:
        """Which kind of letter of ours it is: summary, or referral; empty for another type of document."""
        return letter_kind(self.composition)

    @property
    def region(self) -> Region:
        """By whose rules it was written, as far as it is of ours."""
        return region_of_language(self.language)

    @property
    def language(self) -> str:
        """The language that it was written in, as far as it is of ours; else empty."""
        return str(self.composition.get("language", "")) if self.signed else ""

    @property
    def patient(self) -> Json:
        return self.get(self.composition.get("subject")) or next(iter(self.of("Patient")), {})

    @property
    def ours(self) -> bool:
        """Whether this tool wrote it, about one visit: only then are its facts laid out anew instead of as written."""
        return bool(self.kind) and self.signed

    @property
    def whole_record(self) -> bool:
        """Whether this tool wrote it, about all visits of a client."""
        return not self.kind and self.signed

    @property
    def signed(self) -> bool:
        """Whether this tool wrote it."""
        authors = self.all(self.composition.get("author", []))
        return any(n.get("name") == TOOL for a in authors for n in a.get("deviceName", ()))
