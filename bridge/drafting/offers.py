"""What a question about a column offers: never without the field that its words and its cells point at."""

from __future__ import annotations

from bridge.drafting.by_cells import CONSENTS
from bridge.drafting.evidence import FIELDS, is_prose, kinds_of
from bridge.drafting.headings import Said
from bridge.drafting.pieces import nearest
from bridge.drafting.shapes import IGNORE, Column, Place, Terms
from bridge.drafting.tables import heading_words, windows

MOST = 12
_OF_AN_EAR = (
    "ear.@.wax", "ear.@.canal", "ear.@.drum", "ear.work.method", "ear.work.outcome", "ear.symptoms", "ear.note",
)  # fmt: skip
_SHARING = frozenset(("sharing.status", "requests", "family_doctor"))


def offered(found: Place, said: Said, column: Column, language: str, terms: Terms | None, rows: str) -> list[str]:
    """The fields that are asked about: first what was found, then what the heading's words, its ear and its cells make
    possible."""
    if len(found.fields) < 2:
        return found.fields
    first = [f for f in found.fields if f != IGNORE]
    consents = _consents(first, said)
    plain = said.exact and not said.made and said.needs not in ("ask", "whole-ear") and bool(said.fields)
    kinds = kinds_of(column, language, terms)
    by_cells = [] if plain else [FIELDS[kind] for kind in kinds.likely if kind in FIELDS]
    by_words = [] if plain else [*_within(said), *nearest(said.key, language)]
    of_ear = list(_OF_AN_EAR) if said.side in ("right", "left") and not plain else []
    more = [put(f, said, rows) for f in [*by_words, *by_cells, *of_ear]]
    prose = ["note"] if is_prose(column) else []
    fields = [*consents, *first, *(f for options in more for f in options), *prose]
    if rows == "visit":  # whose rows are of both ears
        fields = [f for f in fields if f != "ear"]
    return [*list(dict.fromkeys(f for f in fields if f != IGNORE))[:MOST], IGNORE]


def _within(said: Said) -> list[str]:
    """Fields of a heading that stands within this one: “R since” has “since”."""
    if said.fields:
        return []
    runs = [said.key[start:end] for start, end in windows(said.key) if "".join(said.key[start:end]) not in ("r", "l")]
    found = next((words for run in runs if len("".join(run)) > 3 and (words := heading_words().get(run))), ())
    return [f for word in found for f in word.fields if word.language in ("en", said.language)]


def _consents(first: list[str], said: Said) -> list[str]:
    """Both consents where one of them is possible; the one that the heading speaks of in front."""
    hinted = set(said.hints) & {"consent", "sharing"}
    if not hinted and not set(first) & {*CONSENTS, "consent.form"}:
        return []
    if first and (first[0] in CONSENTS or first[0] in ("family_doctor", *said.fields[:1])):
        both = CONSENTS[::-1] if first[0] in _SHARING else CONSENTS
        return list(dict.fromkeys([first[0], *both]))
    about_doctor = "sharing" in hinted or (first and first[0] in _SHARING)
    return [*(CONSENTS[::-1] if about_doctor else CONSENTS)]


def put(field: str, said: Said, rows: str) -> list[str]:
    """The field with its stage and its ear, in all the ways that the heading leaves open."""
    stages = [said.stage] if said.stage else ["before", "after"]
    staged = [field.replace("@", stage) for stage in stages] if "@" in field else [field]
    if rows == "ear" or not field.startswith("ear."):
        return staged
    ears = [said.side] if said.side in ("right", "left") else ["right", "left"]
    return [one.replace("ear.", f"{ear}.", 1) for one in staged for ear in ears]
