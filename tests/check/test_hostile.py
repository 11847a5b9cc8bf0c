"""Data made to harm: answered soon and in little memory, however much of it there is. Nothing is raised.

Each takes 0.1 to 2 s. What is quadratic in any of these would need minutes to hours, and is ended by the guard.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from bridge import check_bundle, check_resource
from bridge.check import gate, structure
from bridge.check.invariants import prose_definitions, questionnaire, terminology
from bridge.enough import MAX_ALIKE, MAX_ERRORS
from bridge.errors import InputError
from bridge.fhir.positions_json import locate_json
from bridge.fhir.read_json import MAX_BYTES, read_json
from tests.no_hang import no_hang

Json = dict[str, Any]
PRIVATE = "Quillfeather"
UNTOLD = {"S117", "S118"}


def patient(**more: Any) -> Json:
    return {"resourceType": "Patient", **more}


def parcel(*resources: Json, **more: Any) -> Json:
    entries = [{"fullUrl": f"http://example.org/{r['resourceType']}/{r.get('id')}", "resource": r} for r in resources]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries, **more}


def letter(sections: list[Json], *resources: Json) -> Json:
    composition = {"resourceType": "Composition", "id": "c", "subject": {"reference": "Patient/p"}, "section": sections}
    return parcel({**composition, "status": "final"}, *resources, type="document")


def right(id: str, words: str) -> Json:
    site = {"coding": [{"system": "http://snomed.info/sct", "code": "25577004"}]}
    return {"resourceType": "Observation", "id": id, "bodySite": site, "text": {"div": words}}


def section(words: str, *ids: str) -> Json:
    return {"text": {"div": words}, "entry": [{"reference": f"Observation/{id}"} for id in ids]}


HEAD = "<p><b>right ear</b></p>"
MANY = {
    "one address with many versions": parcel(
        *(
            patient(id="a", meta={"versionId": str(n)}, link=[{"other": {"reference": "Patient/a/_history/none"}}])
            for n in range(15_000)
        )
    ),
    "references to what is contained": patient(
        contained=[patient(id=f"p{n}") for n in range(15_000)], generalPractitioner=[{"reference": "#p14999"}] * 15_000
    ),
    "extensions without a value": parcel(*(patient(id=str(n), extension=[{"url": "x"}] * 20_000) for n in range(3))),
    "units that are none": {
        "resourceType": "Observation",
        "code": {"coding": [{"system": "http://unitsofmeasure.org", "code": f"zz{n}"} for n in range(40_000)]},
    },
    "names that are none": patient(**{f"birthDat{n}": 1 for n in range(50_000)}),
    "ids of simple values": patient(name=[{"_given": [{"id": "a b"}] * 90_000}]),
    "facts in sections": letter(
        [section(HEAD + "".join(f"<li>z{n}</li>" for n in range(4_000)), *map(str, range(100)))] * 10,
        *(right(str(n), "blah " * 4_000) for n in range(100)),
    ),
    "open items": letter([section(HEAD + "<li>" * 24_000, "1")] * 3, right("1", "right ear")),
    "numbers of one client": letter(
        [],
        patient(id="p", identifier=[{"system": "a", "value": str(n)} for n in range(8_000)]),
        *({"resourceType": "Observation", "id": str(n), "subject": {"identifier": {"system": "a", "value": "1"}}}
          for n in range(8_000)),
    ),
    "attachments that many entries answer": letter(
        [],
        *({"resourceType": "DocumentReference", "id": "a", "meta": {"versionId": str(n)},
           "content": [{"attachment": {"url": "DocumentReference/a"}}] * 2} for n in range(8_000)),
    ),
    "codes better not sent": {
        "resourceType": "Observation",
        "code": {"coding": [{"system": "http://snomed.info/sct", "code": "66459002"}] * 8_000},
    },
    "modifiers": letter([{"modifierExtension": [{"url": "http://example.org/a"}]}] * 50_000),
}  # fmt: skip


@pytest.mark.parametrize("name", MANY)
def test_much_of_one_thing_is_answered_in_time(name: str) -> None:
    with no_hang():
        found = check_bundle(MANY[name])
        assert found
        assert len(found) <= 2 * MAX_ERRORS + 20 * MAX_ALIKE
        told = check_resource(json.dumps(MANY[name]).encode()).issues
    assert {i.rule for i in told} <= {i.rule for i in found} | UNTOLD


def test_what_is_left_out_is_told() -> None:
    found = check_bundle(patient(extension=[{"url": "http://example.org/a"}] * (MAX_ERRORS + 1)))
    assert sum(i.rule == "V102" for i in found) == MAX_ERRORS
    assert "S117" in {i.rule for i in found}


def test_remarks_that_are_no_errors_never_make_one() -> None:
    """Ten thousand resources without a narrative are right."""
    lines = b"\n".join(b'{"resourceType":"Basic","id":"%d","code":{"text":"a"}}' % n for n in range(10_000))
    found = check_resource(lines).issues
    assert [i.rule for i in found] == ["V123"] * MAX_ALIKE + ["S118"]
    assert found[-1].message == "9,000 more of V123 are not told."


def test_the_gate_tells_as_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gate, "WORTH", 0)
    rows = [{"resourceType": "Basic", "id": str(n), "code": {"text": "a"}} for n in range(MAX_ALIKE + 5)]
    assert gate.judge(parcel(*rows)).issues is not None
    assert [i.rule for i in check_bundle(parcel(*rows))] == ["V123"] * MAX_ALIKE + ["S118"]


def test_lines_with_many_faults_are_not_all_told() -> None:
    with no_hang():
        found = check_resource(b"".join(b"{a%d}\n" % n for n in range(100_000))).issues
    assert [i.rule for i in found] == ["S122"] * MAX_ERRORS + ["S117"]


def test_a_number_that_is_none_is_found_behind_many_that_are() -> None:
    with no_hang():
        for wrong in (b"NaN", b"-Infinity", b"1" * 61, b"1e999", b"1.5E+0400"):
            text = b'{"a":"NaN 1e999",\n"x":[' + b"1,2.5,3e2," * 30_000 + wrong + b"]}"
            _, (found,) = read_json(text)
            assert (found.rule, found.where.row, found.where.column) == ("S127", 2, 300_006)


def test_keys_given_again_and_again_are_placed_no_hang() -> None:
    content = b'{"name":[' + b",".join([b"{}"] * 5_000) + b"]" + b',"name":1' * 50_000 + b',"name":[{}]}'
    with no_hang():
        places = locate_json(content, {f"Patient.name[{n}]" for n in range(5_000)})
    last = content.rfind(b'"name"') + 1
    assert places["Patient.name[0]"] == (1, last + len('"name":['))
    assert places["Patient.name[1]"] == (1, last)


class Text(str):
    pass


HOLDS_ITSELF: Json = patient(active=True, contained=[patient(id="a")])
HOLDS_ITSELF["foo"] = HOLDS_ITSELF
LETTER_IN_ITSELF: Json = letter([])
LETTER_IN_ITSELF["entry"][0]["resource"]["foo"] = LETTER_IN_ITSELF
IN_A_LIST: list[Any] = []
IN_A_LIST.append(IN_A_LIST)
CONCEPT: Json = {"code": "a"}
CONCEPT["concept"] = [CONCEPT, CONCEPT]
ACTION: Json = {"id": "x", "goalId": ["g"]}
ACTION["action"] = [ACTION, ACTION]
ITEM: Json = {"linkId": "a", "type": "group"}
ITEM["item"] = [ITEM, ITEM]
DEEP: Any = "x"
for _ in range(50_000):
    DEEP = [DEEP]
TANGLE: Json = {"url": "http://example.org/a"}
for _ in range(60):
    TANGLE = {"url": "http://example.org/a", "extension": [TANGLE, TANGLE]}
HUGE = 10**5_000
SCRIPT = {"resourceType": "TestScript", "setup": {"action": [{"operation": {"origin": HUGE}}]}}
OBSERVATION = {"resourceType": "Observation", "status": "final", "code": {"text": "x"}}
DEFINITION = {"resourceType": "StructureDefinition", "type": "Patient"}


@pytest.mark.parametrize("worth", [10**9, 0], ids=["walked", "gate"])
@pytest.mark.parametrize(
    "data",
    [
        HOLDS_ITSELF, LETTER_IN_ITSELF, patient(name=IN_A_LIST), patient(gender=IN_A_LIST), patient(text=IN_A_LIST),
        {"resourceType": "CodeSystem", "status": "draft", "content": "complete", "concept": [CONCEPT]},
        {"resourceType": "PlanDefinition", "status": "draft", "action": [ACTION]},
        {"resourceType": "Questionnaire", "status": "draft", "item": [ITEM]},
        patient(x=DEEP, contained=[patient()]), patient(gender=DEEP), patient(name=DEEP), patient(_gender=DEEP),
        parcel({"resourceType": "None", "a": DEEP}), patient(extension=[TANGLE]),
    ],
    ids=lambda data: str(list(data)[-1]),
)  # fmt: skip
def test_data_that_no_file_can_hold_is_refused(data: Json, worth: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gate, "WORTH", worth)
    for room in (structure, terminology, prose_definitions, questionnaire):
        monkeypatch.setattr(room, "MAX_OBJECTS", 50_000)
    with no_hang():
        assert {"S125", "S117"} & {i.rule for i in check_resource(data).issues}
        assert check_bundle(data)


@pytest.mark.parametrize("worth", [10**9, 0], ids=["walked", "gate"])
@pytest.mark.parametrize(
    "data",
    [
        {HUGE: 1, "resourceType": "Patient"},
        {1: 2, None: 3, (1, 2): 4, b"a": 5, "resourceType": "Patient", "name": [{1: 2, None: 1}]},
        patient(multipleBirthInteger=HUGE), patient(gender=HUGE), patient(birthDate=HUGE),
        {**SCRIPT, "origin": [{"index": HUGE}, {"index": HUGE}, {"index": DEEP}]},
        {"resourceType": "StructureMap", "group": [{"name": HUGE}, {"name": HUGE}, {"name": DEEP}]},
        {**OBSERVATION, "valueString": "x", "code": {"coding": [{"userSelected": HUGE}]},
         "component": [{"code": {"coding": [{"version": 1}]}}]},
        {**OBSERVATION, "valueQuantity": {"value": HUGE}}, {**OBSERVATION, "valueQuantity": {"value": Decimal("sNaN")}},
        {**OBSERVATION, "valueQuantity": {"value": float("inf")}},
        {**DEFINITION, "snapshot": {"element": [{1: 2, "type": [{"code": "string"}], "example": [{1: 2, None: 3}]}]}},
        patient(name=[{"family": b"abc"}], gender=b"male", id=bytearray(b"a")), patient(name={1, 2}, link=({},)),
        patient(**{"\ud800": 1, "gender": "\ud800", "text": {"status": "generated", "div": "<div>\ud800</div>"}}),
        [], None, 5, 1.5, True, b"", bytearray(b"{}"), memoryview(b"[]"),
    ],
    ids=range(23),
)  # fmt: skip
def test_anything_at_all_is_answered(data: Any, worth: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gate, "WORTH", worth)
    assert check_resource(data).issues


def test_subclasses_of_what_json_gives_are_as_good() -> None:
    data = {Text("resourceType"): Text("Basic"), "id": Text("a"), "code": {"text": Text("a")}}
    assert [i.rule for i in check_resource(data).issues] == ["V123"]


@pytest.mark.parametrize("data", [f'{{"family": "{PRIVATE}"}}', f'\n ["{PRIVATE}"]', f"<Patient>{PRIVATE}", "a\0b"])
def test_a_document_given_as_a_path_is_refused_and_not_quoted(data: str) -> None:
    with pytest.raises(InputError) as told:
        check_resource(data)
    assert PRIVATE not in f"{told.value.message}{told.value.help}"


def test_of_a_file_beyond_the_limit_no_more_is_read_than_shows_it(tmp_path: Path) -> None:
    path = tmp_path / "a b é.json"
    with path.open("wb") as stream:
        stream.truncate(40 * MAX_BYTES)
    with no_hang():
        assert [i.rule for i in check_resource(path).issues] == ["S124"]
