"""The tables of codes and words, held to published material and to each other."""

from __future__ import annotations

import csv
import json
import os
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from bridge.coding import fold, load_term_maps, own_code_system
from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN, systems
from bridge.phrases import parse_phrase
from bridge.phrases.tables import ambiguous, amounts
from tests.standards import standard_json

ROOT = Path(__file__).parents[1]
CODES = [(path.name, row) for path in sorted(table_path("codes").glob("*.csv")) for row in load_csv(path)]
TERMS = [
    (path.name, row)
    for path in sorted(table_path("terms").glob("*.csv"))
    if path.name != "kinds.csv"
    for row in load_csv(path)
]
HEADINGS = "snomed-uk-headings.csv"
NOT_FOR_WRITING = re.compile(r"import[- ]only|recognise on import|\bTRAP\b|^Avoid", re.IGNORECASE)


def reference(name: str) -> list[dict[str, str]]:
    """A table of codes verified by hand: VISIT_BRIDGE_REFERENCE, or beside the checkout."""
    folder = Path(os.environ.get("VISIT_BRIDGE_REFERENCE") or ROOT.parent / "shared" / "reference")
    if not (folder / name).exists():
        reason = f"the verified table {name} is not here; set VISIT_BRIDGE_REFERENCE to the folder that has it"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    with (folder / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_snomed_codes_are_verified_in_their_set_and_for_writing() -> None:
    verified = {row["code"]: row for row in reference("snomed-ear.csv")}
    for name, row in CODES:
        if row["system"] != "sct" or name == HEADINGS:
            continue
        known = verified[row["code"]]
        tag = row["tag"] + (" (inferred)" if row.get("note") else "")
        full = row["display"] if row.get("note") else f"{row['display']} ({row['tag']})"
        assert (full, tag) == (known["fsn_or_display"], known["semantic_tag"]), row["code"]
        assert not NOT_FOR_WRITING.search(known["preferred_use"]), row["code"]
        assert known["confidence"] in {"confirmed1", "confirmed2"}
        assert row["laterality"] == known["laterality"]
        assert row["set"] == ("licensed" if known["free_set"] == "no" else "free"), row["code"]
        assert name == f"snomed-{row['set']}.csv"


def test_headings_of_snomed_are_verified_and_want_a_licence() -> None:
    groups = {"uk-section-heading-snomed", "uk-document-type"}
    verified = {row["code"]: row for row in reference("other-codes.csv") if row["group"] in groups}
    rows = [row for name, row in CODES if name == HEADINGS]
    assert len(rows) > 10
    for row in rows:
        known = verified[row["code"]]
        assert known["display"] in {row["display"], f"{row['display']} (newer edition)"}
        assert row["evidence"] == known["evidence"]
        assert known["confidence"] in {"confirmed1", "confirmed2"}
        assert row["set"] == "licensed"


def test_other_codes_are_verified() -> None:
    verified: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in reference("other-codes.csv"):
        verified.setdefault((row["system_uri"], row["code"]), []).append(row)
    for _, row in CODES:
        if row["system"] != "sct":
            known = verified[systems()[row["system"]], row["code"]]
            assert row["display"] in {k["display"] for k in known}, row["code"]
            assert any(k["confidence"] in {"confirmed1", "confirmed2"} for k in known)


def test_a_code_stands_once_with_its_evidence() -> None:
    assert [key for key, n in Counter((r["system"], r["code"]) for _, r in CODES).items() if n > 1] == []
    for name, row in CODES:
        assert row["system"] in systems(), name
        assert row["display"].strip()
        assert row["evidence"].strip()
        assert row["edition"].strip()
        assert row["set"] in {"free", "licensed"}
        assert row["laterality"] in {"none", "left", "right", "bilateral"}


D = [[0, 1, 2, 3, 4, 5, 6, 7, 8, 9], [1, 2, 3, 4, 0, 6, 7, 8, 9, 5], [2, 3, 4, 0, 1, 7, 8, 9, 5, 6],
     [3, 4, 0, 1, 2, 8, 9, 5, 6, 7], [4, 0, 1, 2, 3, 9, 5, 6, 7, 8], [5, 9, 8, 7, 6, 0, 4, 3, 2, 1],
     [6, 5, 9, 8, 7, 1, 0, 4, 3, 2], [7, 6, 5, 9, 8, 2, 1, 0, 4, 3], [8, 7, 6, 5, 9, 3, 2, 1, 0, 4],
     [9, 8, 7, 6, 5, 4, 3, 2, 1, 0]]  # fmt: skip
P = [[0, 1, 2, 3, 4, 5, 6, 7, 8, 9], [1, 5, 7, 6, 2, 8, 3, 0, 9, 4]]
for _ in range(6):
    P.append([P[-1][P[1][n]] for n in range(10)])


def verhoeff(digits: str) -> bool:
    """The check of a SNOMED CT identifier: dihedral group D5 (SNOMED CT release file specification)."""
    check = 0
    for at, digit in enumerate(reversed(digits)):
        check = D[check][P[at % 8][int(digit)]]
    return check == 0


def test_the_check_itself() -> None:
    assert verhoeff("2363")  # the published worked example: 236 with check digit 3
    assert verhoeff("138875005")  # the root concept of SNOMED CT
    assert not verhoeff("26563001")  # a code with a digit lost, met in published material


def _numbers(system: str, form: str) -> set[str]:
    """Codes of a system in every table: its rows in codes/, and whatever stands behind its short name elsewhere."""
    found = {row["code"] for _, row in CODES if row["system"] == system}
    for path in table_path("rules").parent.rglob("*"):
        if path.suffix in {".csv", ".yaml", ".j2"}:
            found.update(re.findall(rf"\b{system}:({form})", path.read_text(encoding="utf-8")))
    return found


def test_snomed_codes_have_their_check_digit_and_are_concepts() -> None:
    recognised = {row["code"] for name in RECOGNISED for row in load_csv(table_path(name))}
    numbers = _numbers("sct", r"[\w-]+") | recognised
    assert len(numbers) > 290
    for number in numbers:
        assert re.fullmatch(r"[1-9]\d{5,17}", number), number
        assert verhoeff(number), number
        assert number[-3:-1] in {"00", "10"}, f"{number} is no concept"


RECOGNISED = ("laterality.csv", "not-for-writing.csv")
"""SNOMED CT codes outside codes/, known so that they are noticed."""


def test_codes_to_be_recognised_have_their_verified_names() -> None:
    verified = {row["code"]: row["fsn_or_display"] for row in reference("snomed-ear.csv")}
    for name in RECOGNISED:
        for row in load_csv(table_path(name)):
            bare = re.sub(r" \([a-z /]+\)$", "", verified[row["code"]])
            assert row["display"] in {verified[row["code"]], bare}, row["code"]


def test_loinc_codes_have_their_check_digit() -> None:
    """Modulus 10 as LOINC numbers use it (Luhn, as LOINC's users' guide describes; from memory)."""
    codes = _numbers("loinc", r"[\w-]+")
    assert len(codes) > 75
    for code in codes:
        number, check = code.split("-")
        doubled = [int(d) * (2 if at % 2 == 0 else 1) for at, d in enumerate(reversed(number))]
        assert (10 - sum(sum(map(int, str(n))) for n in doubled) % 10) % 10 == int(check), code


@cache
def published() -> dict[tuple[str, str], set[str]]:
    """Every code with the displays that the published R4 4.0.1 definitions give it."""
    found: dict[tuple[str, str], set[str]] = {}
    for name in ("valueset-expansions", "valuesets", "v3-codesystems", "v2-tables"):
        for entry in standard_json(f"fhir-r4/{name}.json.gz")["entry"]:
            for system, code, display in _codes_of(entry["resource"]):
                found.setdefault((system, code), set()).add(display)
    return found


def _codes_of(resource: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    if resource["resourceType"] == "CodeSystem":
        for concept in _inside(resource.get("concept", ()), "concept"):
            yield resource["url"], concept["code"], concept.get("display", "")
    if resource["resourceType"] == "ValueSet":
        for part in _inside(resource.get("expansion", {}).get("contains", ()), "contains"):
            if "code" in part:
                yield part["system"], part["code"], part.get("display", "")
        for include in resource.get("compose", {}).get("include", ()):
            for concept in include.get("concept", ()):
                yield include["system"], concept["code"], concept.get("display", "")


def _inside(nodes: Any, key: str) -> Iterator[dict[str, Any]]:
    for node in nodes:
        yield node
        yield from _inside(node.get(key, ()), key)


OTHER_NAMES = {
    # Other descriptions of the same concept: the expansions give one of its synonyms.
    ("sct", "1902009"), ("sct", "3135009"), ("sct", "3110003"), ("sct", "161615003"), ("sct", "51440002"),
    ("sct", "2792005"),
    # Renamed in LOINC after 2019; the table has the newer name, from the sources that its row states.
    ("loinc", "59284-0"), ("loinc", "11348-0"), ("loinc", "30954-2"), ("loinc", "11369-6"), ("loinc", "29762-2"),
    ("loinc", "8716-3"), ("loinc", "42348-3"), ("loinc", "61146-7"),
}  # fmt: skip


def test_displays_are_those_of_the_published_expansions() -> None:
    """Oracle: value-set expansions and code systems of FHIR R4 4.0.1, which were made independently of our tables.

    SNOMED CT: R4 has preferred terms ("Moderate"), our table full names without their tag; equal once what stands in
    brackets is left out, or one begins with the other.
    """
    wrong, seen = set(), Counter[str]()
    for _, row in CODES:
        displays = {d for d in published().get((systems()[row["system"]], row["code"]), ()) if d}
        if displays:
            seen[row["system"]] += 1
            if not any(_same(row["display"], d, loose=row["system"] == "sct") for d in displays):
                wrong.add((row["system"], row["code"]))
    assert wrong == OTHER_NAMES
    assert seen["sct"] >= 18
    assert seen["loinc"] >= 45
    assert seen.total() >= 330


def test_uk_codes_are_those_of_the_published_code_systems() -> None:
    """Oracle: the code systems of UK Core, June 2025."""
    resources = [entry["resource"] for entry in standard_json("uk-core/uk-core-terminology.json")["entry"]]
    known = {(system, code): display for r in resources for system, code, display in _codes_of(r)}
    defined = {system for system, _ in known}
    checked = Counter[str]()
    for _, row in CODES:
        if row["system"].startswith("uk-") and systems()[row["system"]] in defined:
            assert known[systems()[row["system"]], row["code"]] == row["display"]
            checked[row["system"]] += 1
    assert checked["uk-headings"] > 40
    assert checked["uk-nhs-number-status"] == 8


def _same(ours: str, theirs: str, *, loose: bool) -> bool:
    if not loose:
        return ours.casefold() == theirs.casefold()
    a, b = (re.sub(r"\W+", " ", re.sub(r"\(.*?\)", "", t).casefold()).strip() for t in (ours, theirs))
    return a == b or a.startswith(b) or b.startswith(a)


def test_hl7_codes_are_known_to_r4() -> None:
    """Oracle: the same published definitions; a code of a system that R4 defines must be in it."""
    defined = {system for system, _ in published()}
    missing = [
        (row["system"], row["code"])
        for _, row in CODES
        if row["system"] not in {"sct", "loinc", "icd-10", "icd-10-cm"}  # R4 lists a few examples of these
        and systems()[row["system"]] in defined
        and (systems()[row["system"]], row["code"]) not in published()
    ]
    assert missing == []


def test_term_rows_are_whole() -> None:
    known = {f"{row['system']}:{row['code']}" for _, row in CODES}
    licensed = {f"{row['system']}:{row['code']}" for _, row in CODES if row["set"] == "licensed"}
    sided = {f"{row['system']}:{row['code']}" for _, row in CODES if row["laterality"] != "none"}
    for name, row in TERMS:
        codes = set(row["codes"].split())
        assert codes <= known, (name, row["concept"])
        assert not codes & (licensed | sided), f"{row['concept']}: a side comes from the record, never from a word"
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["concept"])
        assert row["label"].strip()
        assert row["evidence"].strip()
        assert row["edition"].strip()


def test_a_code_that_several_meanings_share_is_explained() -> None:
    """One external code for several meanings of one kind says less than at least one of them; the note says so."""
    by_code: dict[tuple[str, str], list[dict[str, str]]] = {}
    for _, row in TERMS:
        for code in row["codes"].split():
            by_code.setdefault((row["kind"], code), []).append(row)
    for (kind, code), rows in by_code.items():
        silent = [row["concept"] for row in rows if not row["note"]]
        assert len(silent) <= 1, f"{kind} {code}: {silent}"


def test_concepts_are_unique_among_all_codes_of_our_own_system() -> None:
    codes = [row["concept"] for _, row in TERMS]
    codes += [row["kind"] for row in load_csv(table_path("observations.csv"))]
    codes += [row["code"] for row in load_csv(table_path("own-codes.csv"))]
    assert [code for code, n in Counter(codes).items() if n > 1] == []


def test_no_word_stands_twice_in_a_kind() -> None:
    words = Counter((row["kind"], fold(word)) for _, row in TERMS for word in row["words"].split("|"))
    assert [key for key, n in words.items() if n > 1] == []
    assert all(word for _, word in words)


def test_no_word_names_an_ear() -> None:
    """Else a word would stand against the ear that it is written under, as "right-angle hook" once did."""
    from bridge.phrases import side_words

    told = [(row["concept"], w) for _, row in TERMS for w in (row["label"], *row["words"].split("|")) if side_words(w)]
    assert told == []


def test_words_of_findings_neither_deny_nor_doubt() -> None:
    """Else "no light reflex" would be one denial in the map and a second one in the words."""
    maps = load_term_maps()
    for kind, words in maps.words.items():
        if maps.kinds[kind].assertable:
            denied = [w for w in words if (phrase := parse_phrase(w)) and phrase.assertion]
            assert denied == [], kind


def test_shorthand_taken_by_a_field_is_explained() -> None:
    """A refused short form may stand in a field's map; the row's note then says that it is so only there."""
    refused = {fold(entry.word) for entry in ambiguous() if entry.about in {"side", "diagnosis"}}
    for _, row in TERMS:
        if taken := refused & {fold(word) for word in row["words"].split("|")}:
            assert "only" in row["note"], (row["concept"], taken)


def test_kinds_cover_every_term_of_the_visit() -> None:
    from bridge.visit import Term, Visit

    maps = load_term_maps()
    paths = set(_term_paths(Visit, Term))
    assert len(paths) > 60
    assert {path for path in paths if maps.kind_of(path) is None} == set()
    assert {kind.name for kind in maps.kinds.values()} == {maps.kind_of(path).name for path in paths}  # type: ignore[union-attr]


def _term_paths(model: Any, term: Any, path: str = "") -> Iterator[str]:
    from typing import get_args

    from pydantic import BaseModel

    def inner(annotation: Any) -> Iterator[Any]:
        yield annotation
        for part in get_args(annotation):
            yield from inner(part)

    for name, info in model.model_fields.items():
        for part in inner(info.annotation):
            if part is term:
                yield f"{path}{name}"
            elif isinstance(part, type) and issubclass(part, BaseModel):
                yield from _term_paths(part, term, f"{path}{name}.")


def test_own_code_system_is_complete() -> None:
    system = own_code_system()
    assert system["url"] == OWN
    assert re.fullmatch(r"urn:oid:2\.25\.\d{1,39}", OWN)
    codes = [concept["code"] for concept in system["concept"]]
    assert codes == sorted(set(codes))
    assert system["count"] == len(codes)
    assert {row["concept"] for _, row in TERMS} <= set(codes)
    assert json.dumps(own_code_system()) == json.dumps(system)


def test_own_code_system_fits_the_published_schema() -> None:
    """Oracle: the JSON schema of FHIR R4 4.0.1."""
    import jsonschema_rs

    schema = standard_json("fhir-r4/fhir.schema.json.gz")
    only = {**schema, "oneOf": [{"$ref": "#/definitions/CodeSystem"}]}
    only.pop("discriminator", None)
    assert [e.message for e in jsonschema_rs.validator_for(only).iter_errors(own_code_system())] == []


def test_tables_name_concepts_that_there_are() -> None:
    concepts = {row["concept"] for _, row in TERMS}
    for name in ("procedure-status.csv", "wax-percent.csv"):
        assert {row["concept"] for row in load_csv(table_path(name))} <= concepts, name
    assert {row["cleared_by"] for row in load_csv(table_path("clearance.csv"))} <= concepts


def test_a_concept_that_ends_in_none_stands_for_nothing() -> None:
    """Such a concept is written as "none known", never as a finding."""
    nothing = {fold(word) for row in load_csv(table_path("words", "nothing.csv")) for word in row["words"].split("|")}
    for _, row in TERMS:
        if row["concept"].endswith("-none"):
            assert nothing & {fold(word) for word in row["words"].split("|")}, row["concept"]


def test_every_amount_taken_off_a_finding_has_a_meaning() -> None:
    maps = load_term_maps()
    assert [word for word in amounts() if maps.find("finding-amount", word) is None] == []
