"""Value sets of R4, IPS and UK Core as published. Oracle: the published expansions (valueset-expansions.json.gz).

Where this differs from an expansion, the expansion leaves out codes that the composition takes in: those which the
system calls deprecated or retired, and those that stand under another only by the property `child`.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache

import pytest

from bridge.shapes import Json
from bridge.terminology.code_systems import concepts
from bridge.terminology.codes import Codes
from bridge.terminology.members import Terminology
from bridge.terminology.value_sets import compile_code_system, compile_value_set
from tests.standards import standard_json
from tests.work import work

SAMPLE_NEAR, SAMPLE_FAR = 60, 20


def published() -> Iterator[Json]:
    for name in ("valuesets", "v3-codesystems", "v2-tables"):
        yield from (entry["resource"] for entry in standard_json(f"fhir-r4/{name}.json.gz")["entry"])


@cache
def tables() -> tuple[dict[str, Json], dict[str, Json]]:
    """Value sets and code systems of R4, compiled."""
    both: dict[str, dict[str, Json]] = {"ValueSet": {}, "CodeSystem": {}}
    compilers = {"ValueSet": compile_value_set, "CodeSystem": compile_code_system}
    for one in published():
        if compiler := compilers.get(one["resourceType"]):
            both[one["resourceType"]].setdefault(one["url"], compiler(one))
    return both["ValueSet"], both["CodeSystem"]


def terminology() -> Terminology:
    sets, systems = tables()
    return Terminology(lambda url: sets.get(url.partition("|")[0]), lambda url: systems.get(url.partition("|")[0]))


@cache
def expansions() -> dict[str, Json]:
    """By value set: codes by system, and whether they are all."""
    entries = (entry["resource"] for entry in standard_json("fhir-r4/valueset-expansions.json.gz")["entry"])
    return {one["url"]: compile_value_set({"expansion": one["expansion"]})["expansion"] for one in entries}


def test_codes_of_the_published_expansions_are_never_out() -> None:
    asked, sets = terminology(), tables()[0]
    found = [
        (url, system, code, asked.member(url, system, code).verdict)
        for url, expansion in expansions().items()
        if url in sets
        for system, codes in expansion["codes"].items()
        for code in codes
    ]
    assert [one for one in found if one[3] == "out"] == []
    assert sum(one[3] == "in" for one in found) > 9_900
    assert len(found) > 55_000


def test_codes_outside_of_the_complete_expansions_are_never_in_without_a_reason() -> None:
    asked, (sets, systems) = terminology(), tables()
    far = sorted((system, code) for system, table in systems.items() for code in table["codes"])
    chance = random.Random(5)
    asked_of, wrong = 0, []
    for url, expansion in expansions().items():
        if not expansion["complete"] or url not in sets:
            continue
        near = [
            (system, code) for system in expansion["codes"] if system in systems for code in systems[system]["codes"]
        ]
        sample = [*chance.sample(near, min(len(near), SAMPLE_NEAR)), *chance.sample(far, SAMPLE_FAR)]
        for system, code in sample:
            if code not in expansion["codes"].get(system, {}):
                asked_of += 1
                if asked.member(url, system, code).verdict == "in" and not explained(system, code):
                    wrong.append((url, system, code))
    assert asked_of > 11_000
    assert wrong == []


def explained(system: str, code: str) -> bool:
    """Why an expansion may lack a code that the composition takes in."""
    table = tables()[1][system]
    status = table.get("properties", {}).get(code, {}).get("status", [])
    return bool({"deprecated", "retired"} & set(status)) or Codes(table).under(code) > nested(system, code)


def nested(system: str, code: str) -> set[str]:
    """What the code stands in, by nesting alone."""
    definition = next(one for one in published() if one["url"] == system)
    parents = {concept["code"]: parent for concept, parent in concepts(definition)}
    found: set[str] = set()
    while code := parents.get(code, ""):
        found.add(code)
    return found


def test_plain_codes_of_the_published_expansions_without_their_system() -> None:
    asked, sets = terminology(), tables()[0]
    small = [url for url, one in expansions().items() if url in sets and sum(map(len, one["codes"].values())) < 40]
    for url in small:
        for system, codes in expansions()[url]["codes"].items():
            for code in codes:
                with_system = asked.member(url, system, code).verdict
                assert asked.member(url, None, code).verdict in {with_system, "in"}
    assert len(small) > 300


@pytest.mark.parametrize(
    ("value_set", "system", "code", "verdict"),
    [
        ("observation-category", "observation-category", "exam", "in"),
        ("observation-category", "observation-category", "exams", "out"),
        ("condition-clinical", "condition-clinical", "active", "in"),
        ("condition-clinical", "condition-ver-status", "confirmed", "out"),
        ("v3-ActPharmacySupplyType", "v3-ActCode", "_ActPharmacySupplyType", "out"),
    ],
)
def test_sets_that_documents_need(value_set: str, system: str, code: str, verdict: str) -> None:
    root = "http://terminology.hl7.org"
    urls = [url for url in tables()[0] if url.rpartition("/")[2] == value_set]
    assert len(urls) == 1
    assert terminology().member(urls[0], f"{root}/CodeSystem/{system}", code).verdict == verdict


def test_everything_under_a_code_is_found_through_every_parent() -> None:
    """v3-ActCode tells some parents by nesting and others by the property child: FFS stands under two."""
    codes = Codes(tables()[1]["http://terminology.hl7.org/CodeSystem/v3-ActCode"])
    assert {"_ActPharmacySupplyType", "_ActBillingArrangementCode", "FF"} <= codes.under("FFS")


def test_a_question_asked_again_costs_next_to_nothing() -> None:
    asked = terminology()
    question = ("http://hl7.org/fhir/ValueSet/observation-status", "http://hl7.org/fhir/observation-status", "final")
    first = work(lambda: asked.member(*question))
    assert work(lambda: asked.member(*question)) * 4 < first
