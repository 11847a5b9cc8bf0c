"""Every constraint of the standard has a named function, on the type that it is published on.

Oracle: the definitions of FHIR R4 4.0.1, of which `mappings/standard/invariants.json` keeps the constraints by path
(tests/fhir/test_tables.py makes that table anew).
"""

from __future__ import annotations

import random
from decimal import Decimal
from typing import Any

import pytest

from bridge.check.invariants import check_invariants, own_constraints
from bridge.check.invariants.values import above, measures_length, measures_time
from bridge.check.node import OUTERMOST, Node
from bridge.check.structure import Walk
from bridge.fhir import tables
from bridge.issues import Severity, rules

ELSEWHERE = {
    # bridge/check/xhtml.py judges narratives
    ("Narrative.div", "txt-1"),
    ("Narrative.div", "txt-2"),
}
PUBLISHED = [(path, key) for path, keys in tables.invariants().items() for key in keys]
NOT_AS_PUBLISHED = {
    # mappings/rules/V-invariants.yaml says why
    ("DomainResource", "dom-6"): Severity.information,
    # the part of its text that the expression leaves out
    ("Duration", "drt-1"): Severity.warning,
}
UCUM = "http://unitsofmeasure.org"


def functions(path: str, key: str) -> list[str]:
    """Rule codes of the functions that answer for a published key: on its path, or nearest above it.

    An element with a type of its own (`Organization.telecom`) is judged where it stands.
    """
    while path:
        found = [code for code, keys, _ in own_constraints(path) if key in keys.split(", ")]
        if found:
            return found
        path = path.rpartition(".")[0]
    return []


def quantity(value: Any, code: str = "", unit: str = "", system: str = UCUM) -> Any:
    given = {"value": value, "unit": unit, "code": code, "system": system if code else ""}
    return {key: value for key, value in given.items() if value != ""}


@pytest.mark.parametrize(("path", "key"), PUBLISHED)
def test_a_published_constraint_has_a_function(path: str, key: str) -> None:
    assert bool(functions(path, key)) != ((path, key) in ELSEWHERE)


def test_every_exception_is_published() -> None:
    assert set(PUBLISHED) >= ELSEWHERE


@pytest.mark.parametrize(("path", "key"), [pair for pair in PUBLISHED if pair not in ELSEWHERE])
def test_it_weighs_as_much_as_published(path: str, key: str) -> None:
    published = Severity[tables.invariants()[path][key]["severity"]]
    told = {rules()[code].severity for code in functions(path, key)}
    assert told <= {published, NOT_AS_PUBLISHED.get((path, key), published)}


def test_no_function_stands_on_a_type_that_does_not_exist() -> None:
    from bridge.check.invariants.registry import RULES

    for path, _ in PUBLISHED:
        own_constraints(path)
    assert {type for type in RULES if not tables.knows(type)} <= {path for path, _ in PUBLISHED}


@pytest.mark.parametrize(
    ("low", "high", "wrong"),
    [
        (quantity(2, "mm"), quantity(1, "mm"), True),
        (quantity(1, "mm"), quantity(1, "mm"), False),
        (quantity(11, "mm"), quantity(1, "cm"), True),
        (quantity(9, "mm"), quantity(1, "cm"), False),
        (quantity(61, "min"), quantity(1, "h"), True),
        (quantity(2, "mm"), quantity(1, "mg"), False),
        (quantity(2, "mm"), quantity(1, unit="mm"), False),
        (quantity(2, unit="mm"), quantity(1, unit="mm"), True),
        (quantity(2), quantity(1), True),
        (quantity(11, "mm", system="https://example.org/u"), quantity(1, "cm"), False),
        (quantity(Decimal("1E+999999"), "km"), quantity(1, "m"), False),
        (quantity("2", "mm"), quantity(1, "mm"), False),
        ({"value": float("nan")}, {"value": 1}, False),
    ],
)
def test_amounts_are_compared_where_they_can_be(low: Any, high: Any, wrong: bool) -> None:
    assert above(low, high) is wrong


@pytest.mark.parametrize(
    ("code", "time", "length"),
    [
        ("min", True, False),
        ("a", True, False),
        ("mo_j", True, False),
        ("ms", True, False),
        ("km", False, True),
        ("Mpc", False, True),
        ("kg", False, False),
        ("%", False, False),
        # Whatever is put together, annotated or in brackets is left to those who can work it out.
        ("10.d", True, True),
        ("d{school}", True, True),
        ("[ft_i]", True, True),
        ("", True, True),
    ],
)
def test_units_of_time_and_length(code: str, time: bool, length: bool) -> None:
    assert (measures_time({"code": code}), measures_length({"code": code})) == (time, length)


def test_a_count_with_a_point_is_no_whole_number() -> None:
    def told(value: Any) -> bool:
        count = {"url": "https://example.org/x", "valueCount": quantity(value, "1")}
        return "V200" in {
            i.rule for i in check_invariants(Walk({"resourceType": "Patient", "extension": [count]}).nodes)
        }

    assert [told(v) for v in (2, Decimal(2), Decimal("2.0"), 2.0, Decimal("2.5"))] == [False, False, True, True, True]


def test_a_contained_resource_is_not_remembered_over_two_checks() -> None:
    """The same object with another content, as a library user may hand it in."""
    data: dict[str, Any] = {"resourceType": "Patient", "managingOrganization": {"reference": "#a"}}
    data["contained"] = [{"resourceType": "Organization", "id": "a", "name": "A"}]
    node = Node("Patient", "Patient", data, OUTERMOST, data)
    reference = Node("Patient.managingOrganization", "Reference", data["managingOrganization"], OUTERMOST, data)
    assert [i.rule for i in check_invariants([node, reference]) if i.rule != "V123"] == []
    data["contained"][0]["id"] = "b"
    assert {i.rule for i in check_invariants([node, reference])} >= {"V104", "V121"}


@pytest.mark.parametrize("type", [type for type in tables.types() if own_constraints(type)])
def test_no_function_minds_what_it_is_given(type: str) -> None:
    """Every element of the type with values of any shape: an answer, never an exception."""
    choose = random.Random(type)
    names = [*tables.elements(type), *(f"_{name}" for name in tables.elements(type)), "zz"]
    for _ in range(150):
        value = {choose.choice(names): any_value(choose, 0) for _ in range(choose.randrange(1, 6))}
        node = Node(type, type, value, OUTERMOST, choose.choice([value, {}, {"contained": any_value(choose, 0)}]))
        assert all(i.rule in rules() for i in check_invariants([node]))


def any_value(choose: random.Random, depth: int) -> Any:
    if depth < 3 and choose.random() < 0.6:
        keys = [
            "id",
            "value",
            "code",
            "coding",
            "system",
            "reference",
            "resource",
            "request",
            "entry",
            "type",
            "meta",
            "use",
        ]
        if choose.random() < 0.5:
            return [any_value(choose, depth + 1) for _ in range(choose.randrange(3))]
        return {choose.choice(keys): any_value(choose, depth + 1) for _ in range(choose.randrange(4))}
    return choose.choice(
        [None, True, 0, -1, 1.5, float("nan"), Decimal("1E+999999"), "", "#", "#a", "<div", "home", "2026", "T"]
    )


def test_many_codings_are_compared_in_one_go() -> None:
    codings = [{"display": f"d{n}"} for n in range(20_000)]
    others = [{"code": f"c{n}"} for n in range(20_000)]
    data: dict[str, Any] = {"resourceType": "Observation", "valueString": "a", "code": {"coding": codings}}
    data["component"] = [{"code": {"coding": others}}, {"code": {"coding": []}}]
    assert [i.rule for i in check_invariants([Node("Observation", "Observation", data, OUTERMOST, data)])] == ["V123"]
    data["component"] = [{"code": {"coding": [{"display": "d7"}]}}]
    told = [i.rule for i in check_invariants([Node("Observation", "Observation", data, OUTERMOST, data)])]
    assert "V132" in told


def test_many_contained_resources_and_references_take_no_long_time() -> None:
    many = 3_000
    data: dict[str, Any] = {
        "resourceType": "CareTeam",
        "contained": [{"resourceType": "Practitioner", "id": f"p{n}"} for n in range(many)],
        "participant": [{"member": {"reference": f"#p{n}"}, "onBehalfOf": {"display": "A"}} for n in range(many)],
    }
    walk = [Node("CareTeam", "CareTeam", data, OUTERMOST, data)]
    for one in data["participant"]:
        walk.append(Node("CareTeam.participant", "CareTeam.participant", one, OUTERMOST, data))
        walk.append(Node("CareTeam.participant.member", "Reference", one["member"], OUTERMOST, data))
    assert [i.rule for i in check_invariants(walk) if i.rule != "V123"] == []
