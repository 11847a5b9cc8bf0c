"""Language tags for the words of a record. Data in `mappings/languages.csv`."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.systems import system
from bridge.shapes import Json

UNDETERMINED = "und"
"""BCP 47's own tag for a language that nobody has determined."""


def language_tag(words: str) -> str | None:
    """The tag of a language by its name or by its tag; None where no table has the words."""
    plain = " ".join(words.casefold().split())
    return _tags().get(plain) or (plain if plain in _tags().values() else None)


def language_concept(words: str) -> Json:
    """CodeableConcept of a language, with the words as they were recorded."""
    return {"coding": [{"system": system("bcp-47"), "code": language_tag(words) or UNDETERMINED}], "text": words}


@cache
def _tags() -> dict[str, str]:
    return {row["word"].casefold(): row["tag"] for row in load_csv(table_path("languages.csv"))}
