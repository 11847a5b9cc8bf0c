"""The tables of `mappings/receive/`, and our own tables of codes read backwards."""

from __future__ import annotations

import re
from functools import cache

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.own import unplaced
from bridge.fhir.systems import LOINC, SCT, system
from bridge.phrases.tables import qualifiers, whole

Code = tuple[str, str]
"""System and code."""


@cache
def becomes() -> dict[tuple[str, str, str], str]:
    """What a state makes of a statement, by type, element and state."""
    rows = load_csv(table_path("receive", "statuses.csv"))
    return {(row["type"], row["element"], row["status"]): row["becomes"] for row in rows}


@cache
def state_elements() -> dict[str, tuple[str, ...]]:
    """Which elements of a type say its state."""
    found: dict[str, dict[str, None]] = {}
    for type, element, _ in becomes():
        found.setdefault(type, {})[element] = None
    return {type: tuple(elements) for type, elements in found.items()}


@cache
def side_extensions() -> frozenset[str]:
    return frozenset(row["name"] for row in _laterality() if row["part"] == "extension")


@cache
def sided_codes() -> dict[Code, frozenset[Ear]]:
    """Codes that name an ear by themselves: of sites, qualifiers and disorders, in SNOMED CT, LOINC and ICD-10-CM."""
    both: dict[str, frozenset[Ear]] = {"left": frozenset(["left"]), "right": frozenset(["right"])}
    both["bilateral"] = frozenset(EARS)
    found = {(SCT, row["code"]): both[row["laterality"]] for row in load_csv(table_path("laterality.csv"))}
    for row in load_csv(table_path("laterality-icd-10-cm.csv")):
        if row["laterality"] in both:
            found[(system("icd-10-cm"), row["code"])] = both[row["laterality"]]
    for path in sorted(table_path("codes").glob("*.csv")):
        for row in load_csv(path):
            if row["laterality"] in both:
                found.setdefault((system(row["system"]), row["code"]), both[row["laterality"]])
    return found


@cache
def side_qualifiers() -> dict[Code, frozenset[Ear]]:
    """Codes that name a side and no part of the body."""
    rows = (row for row in _laterality() if row["part"] == "code")
    return {(SCT, row["name"]): frozenset(ear for ear in EARS if ear in row["ears"].split()) for row in rows}


@cache
def sites() -> dict[Code, str]:
    """Body sites of an ear, with the field of an examination that they stand in, if any."""
    return {(SCT, row["code"]): row["field"] for row in load_csv(table_path("receive", "body-sites.csv"))}


@cache
def sections() -> dict[str, str]:
    return {row["code"]: row["becomes"] for row in load_csv(table_path("receive", "sections.csv"))}


@cache
def kinds_of_codes() -> dict[Code, frozenset[str]]:
    """Kinds of our term maps in which a code stands for a term, but for codes that mean nothing without a field."""
    found: dict[Code, set[str]] = {}
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            for name in (row.get("codes") or "").split():
                if name not in unplaced():
                    short, _, code = name.partition(":")
                    found.setdefault((system(short), code), set()).add(row["kind"])
    return {code: frozenset(kinds) for code, kinds in found.items()}


@cache
def thresholds() -> dict[Code, tuple[Ear, int]]:
    """LOINC codes of hearing thresholds with their ear and frequency."""
    ears = {str(ear): ear for ear in EARS}
    rows = load_csv(table_path("hearing-thresholds.csv"))
    return {(LOINC, row["code"].partition(":")[2]): (ears[row["ear"]], int(row["frequency"])) for row in rows}


@cache
def warning_words() -> re.Pattern[str]:
    """Words in a label that take it out of plain statements."""
    words = {row["words"] for row in load_csv(table_path("receive", "words.csv"))}
    words |= {q.words for q in qualifiers() if len(q.words) > 3}
    return re.compile("|".join(whole(word, exact=False).pattern for word in sorted(words)), re.IGNORECASE)


@cache
def denying_mark() -> re.Pattern[str]:
    """A sign behind a label, in brackets or with a colon before it, or alone, that may say no to what it names."""
    marks = sorted({row["mark"] for row in load_csv(table_path("receive", "marks.csv"))}, key=len, reverse=True)
    nothing = r"x?0+(?:[.,]0+)?(?:\s*/\s*\d+)?(?:\s*%)?"
    one = rf"(?:{nothing}|{'|'.join(map(re.escape, marks))})"
    behind, before = rf"(?:^|[\s:=(\[]){one}[\s)\].]*$", rf"^\s*(?:[(\[]\s*{one}?\s*[)\]]|{one}\s*[:=])"
    return re.compile(f"{behind}|{before}", re.IGNORECASE)


@cache
def degrees() -> dict[Code, str]:
    """What a degree or stage says of its condition: `plain`, `denied`."""
    return {(SCT, row["code"]): row["says"] for row in load_csv(table_path("receive", "degrees.csv"))}


def _laterality() -> list[dict[str, str]]:
    return list(load_csv(table_path("receive", "laterality.csv")))
