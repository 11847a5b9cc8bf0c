"""What the audit knows of codes, from `mappings/`: general ones, retired ones, names, tags and ears of codes."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN, SCT, system
from bridge.phrases.fold import fold

Code = tuple[str, str]
"""System and code."""
_TAGS = {
    "disorder": "finding", "finding": "finding", "situation": "finding", "procedure": "procedure",
    "regime/therapy": "procedure", "body structure": "body structure", "qualifier value": "qualifier",
    "substance": "stuff", "product": "stuff", "medicinal product": "stuff", "organism": "organism",
}  # fmt: skip


@cache
def general() -> frozenset[Code]:
    """Codes that say little by themselves."""
    return frozenset((system(row["system"]), row["code"]) for row in load_csv(table_path("audit", "general.csv")))


@cache
def retired() -> dict[Code, str]:
    """Why a code is taken to be out of use."""
    rows = load_csv(table_path("audit", "retired.csv"))
    return {(system(row["system"]), row["code"]): row["why"] for row in rows}


@cache
def harm_words() -> dict[str, tuple[str, ...]]:
    """Beginnings of words for harm, and words that deny what follows, by group."""
    found: dict[str, tuple[str, ...]] = {}
    for row in load_csv(table_path("audit", "harm-words.csv")):
        found[row["group"]] = (*found.get(row["group"], ()), row["word"])
    return found


@cache
def _codes() -> tuple[dict[str, str], ...]:
    return tuple(row for path in sorted(table_path("codes").glob("*.csv")) for row in load_csv(path))


@cache
def names() -> dict[tuple[str, str], frozenset[str]]:
    """Codes of a system that have a name, by system and folded name."""
    found: dict[tuple[str, str], set[str]] = {}
    for row in _codes():
        found.setdefault((system(row["system"]), fold(row["display"])), set()).add(row["code"])
    return {key: frozenset(codes) for key, codes in found.items()}


@cache
def tags() -> dict[str, str]:
    """What a SNOMED CT code can be used as, by its tag: finding, procedure, body structure and so on."""
    return {row["code"]: _TAGS.get(row["tag"], "") for row in _codes() if row["system"] == "sct"}


def tag_in(display: str) -> str:
    """The same by the tag that a full name ends with: `Removal of ear wax (procedure)`."""
    head, _, tail = display.rpartition("(")
    return _TAGS.get(tail[:-1], "") if head and tail.endswith(")") else ""


@cache
def ears() -> dict[Code, frozenset[str]]:
    """The ears that a code names by itself: of SNOMED CT and ICD-10-CM."""
    sides = {"right": frozenset(("right",)), "left": frozenset(("left",)), "bilateral": frozenset(("right", "left"))}
    found = {(SCT, row["code"]): sides[row["laterality"]] for row in load_csv(table_path("laterality.csv"))}
    cm = load_csv(table_path("laterality-icd-10-cm.csv"))
    found.update({(system("icd-10-cm"), row["code"]): sides[row["laterality"]] for row in cm})
    for row in load_csv(table_path("own-codes.csv")):
        if row["group"] == "ear" and row["word"] in sides:
            found[OWN, row["code"]] = sides[row["word"]]
    return found


@cache
def meanings() -> dict[Code, frozenset[str]]:
    """Our own concepts that a code stands for, by the word lists."""
    found: dict[Code, set[str]] = {}
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            for name in (row.get("codes") or "").split():
                short, _, code = name.partition(":")
                found.setdefault((system(short), code), set()).add(row["concept"])
    return {code: frozenset(concepts) for code, concepts in found.items()}
