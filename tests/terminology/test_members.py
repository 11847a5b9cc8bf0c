"""Which codes a value set holds: compositions, filters, imports, what is not certain.

Expectations are worked out by hand from https://hl7.org/fhir/R4/valueset.html#compositions and #filters.
"""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.issues import Where
from bridge.shapes import Json
from bridge.terminology import composition
from bridge.terminology.tell import remarks
from bridge.terminology.value_sets import compile_code_system, compile_value_set
from tests.terminology.small import ALL, CODE_SYSTEM, SETS, TOOLS, concept, filtered, members, terminology, value_set
from tests.work import work

WHOLE = {"system": TOOLS}


def inside(definition: Json, *others: Json) -> set[str]:
    """Codes that are in; of the others all but the heading must be certainly out."""
    found = members(definition, *others)
    assert {verdict for code, verdict in found.items() if code != "tool"} <= {"in", "out"}
    return {code for code, verdict in found.items() if verdict == "in"}


@pytest.mark.parametrize(
    ("property", "op", "value", "codes"),
    [
        ("concept", "is-a", "hook", "hook loop syringe"),
        ("code", "is-a", "hook", "hook loop syringe"),
        ("concept", "descendent-of", "hook", "loop syringe"),
        ("concept", "is-not-a", "hook", "light otoscope headlamp candle"),
        ("concept", "generalizes", "otoscope", "otoscope light"),
        ("concept", "in", "loop, hook", "loop hook"),
        ("concept", "not-in", "loop,hook,tool", "light otoscope headlamp candle syringe"),
        ("concept", "=", "loop", "loop"),
        ("concept", "regex", "[a-h].*", "headlamp hook candle"),
        ("display", "regex", "H.*", "headlamp hook"),
        ("wear", "=", "hand", "loop syringe"),
        ("wear", "in", "head,hand", "loop syringe headlamp"),
        ("wear", "exists", "true", "loop syringe headlamp"),
        ("wear", "exists", "false", "light otoscope hook candle"),
        ("parent", "=", "hook", "loop syringe"),
        ("parent", "exists", "false", ""),
        ("off", "=", "true", "candle"),
    ],
)
def test_a_filter_chooses_codes(property: str, op: str, value: str, codes: str) -> None:
    assert inside(value_set("f", filtered(property, op, value))) - {"tool"} == set(codes.split())


def test_all_filters_of_an_include_must_fit() -> None:
    both: Json = {"system": TOOLS, "filter": filtered("concept", "is-a", "tool")["filter"]}
    both["filter"] = [*both["filter"], *filtered("wear", "=", "hand")["filter"]]
    assert inside(value_set("f", both)) == {"loop", "syringe"}


@pytest.mark.parametrize(
    ("property", "op", "value"),
    [
        ("wear", "looks-like", "hand"),
        ("concept", "child-of", "hook"),
        ("concept", "regex", "(l+)+p"),
        ("concept", "regex", "(?=l)loop"),
        ("concept", "regex", "["),
        ("concept", "regex", "l" * 5000),
    ],
)
def test_a_filter_that_is_not_understood_is_not_decided(property: str, op: str, value: str) -> None:
    assert members(value_set("f", filtered(property, op, value)))["loop"] == "unknown"


def test_any_include_and_no_exclude() -> None:
    some = {"system": TOOLS, "concept": [{"code": "loop"}, {"code": "candle"}]}
    assert inside(value_set("s", some, filtered("concept", "is-a", "light"))) == {
        "loop",
        "candle",
        "light",
        "otoscope",
        "headlamp",
    }
    assert inside(value_set("s", WHOLE, exclude=[some])) == {"light", "otoscope", "headlamp", "hook", "syringe"}


def test_imports_of_one_include_all_have_to_hold_the_code_and_those_of_several_any() -> None:
    lights, hand = (
        value_set("lights", filtered("concept", "is-a", "light")),
        value_set("hand", filtered("wear", "exists", "true")),
    )
    urls = [lights["url"], hand["url"]]
    assert inside(value_set("both", {"valueSet": urls}), lights, hand) == {"headlamp"}
    assert inside(value_set("any", *({"valueSet": [url]} for url in urls)), lights, hand) == {
        "light",
        "otoscope",
        "headlamp",
        "loop",
        "syringe",
    }
    assert inside(value_set("and", {"system": TOOLS, "valueSet": urls[:1]}), lights, hand) == {
        "light",
        "otoscope",
        "headlamp",
    }


def test_value_sets_made_of_each_other_end() -> None:
    ring = value_set("a", {"valueSet": [f"{SETS}/b"]}), value_set("b", {"valueSet": [f"{SETS}/a"]})
    assert set(members(*ring).values()) == {"unknown"}
    fan = [value_set(str(n), *[{"valueSet": [f"{SETS}/{n + 1}"]}] * 3) for n in range(25)]
    end = value_set("25", {"system": TOOLS, "concept": [{"code": "loop"}]})
    assert members(fan[0], *fan[1:], end)["loop"] == "in"
    assert members(fan[0], *fan[1:], end)["hook"] == "out"


def test_a_missing_import_leaves_open_what_nothing_else_decides() -> None:
    missing = value_set("m", {"system": TOOLS, "concept": [{"code": "loop"}]}, {"valueSet": [f"{SETS}/nowhere"]})
    found = members(missing)
    assert found.pop("loop") == "in"
    assert set(found.values()) == {"unknown"}
    assert (
        terminology().member(f"{SETS}/nowhere", TOOLS, "loop").reason == f"the value set {SETS}/nowhere is not at hand"
    )
    with_system = value_set("m", {"system": TOOLS, "valueSet": [f"{SETS}/nowhere"]})
    assert terminology(with_system).member(with_system["url"], "http://example.org/other", "x").verdict == "out"


def test_headings_are_left_open_unless_they_are_listed() -> None:
    assert members(value_set("w", WHOLE))["tool"] == "unknown"
    assert members(value_set("w", {"system": TOOLS, "concept": [{"code": "tool"}]}))["tool"] == "in"


def test_codes_out_of_use_are_in_and_told_unless_the_set_leaves_them_out() -> None:
    answer = terminology(value_set("w", WHOLE)).member(f"{SETS}/w", TOOLS, "candle")
    assert (answer.verdict, answer.inactive) == ("in", True)
    without = value_set("w", WHOLE)
    without["compose"]["inactive"] = False
    assert members(without)["candle"] == "out"
    assert members(without)["loop"] == "in"


@pytest.mark.parametrize(
    ("content", "verdict"),
    [
        ("complete", "out"),
        ("fragment", "unknown"),
        ("example", "unknown"),
        ("not-present", "unknown"),
        ("supplement", "unknown"),
    ],
)
def test_only_a_complete_system_says_no(content: str, verdict: str) -> None:
    system = {
        "resourceType": "CodeSystem",
        "url": "http://example.org/s",
        "content": content,
        "concept": [concept("a")],
    }
    asked = terminology(system, value_set("v", {"system": system["url"]}))
    assert asked.member(f"{SETS}/v", system["url"], "b").verdict == verdict
    assert asked.known(system["url"], "b").verdict == verdict
    expected = "in" if content in {"complete", "fragment", "example"} else "unknown"
    assert asked.member(f"{SETS}/v", system["url"], "a").verdict == expected


def test_a_system_that_counts_more_codes_than_it_holds_is_not_complete() -> None:
    assert compile_code_system({**CODE_SYSTEM, "count": 900})["content"] == "fragment"
    assert compile_code_system({**CODE_SYSTEM, "count": len(ALL)})["content"] == "complete"


@pytest.mark.parametrize(("case", "verdict"), [(True, "out"), (False, "in"), (None, "in")])
def test_case(case: bool | None, verdict: str) -> None:
    system = {key: value for key, value in CODE_SYSTEM.items() if key != "caseSensitive"}
    system |= {"url": "http://example.org/s"} | ({} if case is None else {"caseSensitive": case})
    for part in ({}, {"concept": [{"code": "loop"}]}, {"filter": filtered("concept", "is-a", "hook")["filter"]}):
        asked = terminology(system, value_set("v", {"system": system["url"], **part}))
        assert asked.member(f"{SETS}/v", system["url"], "LOOP").verdict == verdict
        assert asked.member(f"{SETS}/v", system["url"], "loop").verdict == "in"


def test_listed_codes_of_a_system_not_at_hand() -> None:
    asked = terminology(value_set("v", {"system": "http://example.org/x", "concept": [{"code": "A1"}]}))
    verdicts = [asked.member(f"{SETS}/v", "http://example.org/x", code).verdict for code in ("A1", "a1", "A2")]
    assert verdicts == ["in", "unknown", "out"]


def test_a_long_list_is_gone_through_once() -> None:
    many = [{"code": f"C{n}"} for n in range(3000)]
    asked = terminology(value_set("v", {"system": "http://example.org/x", "concept": many}))
    first = work(lambda: asked.member(f"{SETS}/v", "http://example.org/x", "none"))
    assert work(lambda: asked.member(f"{SETS}/v", "http://example.org/x", "nothing")) * 20 < first


def test_another_version_of_a_system_may_have_what_this_one_lacks() -> None:
    asked = terminology(value_set("v", {"system": TOOLS, "version": "3"}))
    assert asked.member(f"{SETS}/v", TOOLS, "loop").verdict == "in"
    assert asked.member(f"{SETS}/v", TOOLS, "laser").verdict == "unknown"


def test_a_plain_code_may_be_of_any_system_of_the_set_and_a_coding_without_one_of_none() -> None:
    other = {
        "resourceType": "CodeSystem",
        "url": "http://example.org/o",
        "content": "complete",
        "concept": [concept("x")],
    }
    inner = value_set("inner", {"system": other["url"]})
    asked = terminology(other, inner, value_set("v", {"valueSet": [inner["url"]]}, filtered("concept", "is-a", "hook")))
    assert [asked.member(f"{SETS}/v", None, code).verdict for code in ("x", "loop", "otoscope")] == ["in", "in", "out"]
    assert asked.member(f"{SETS}/v", "", "loop").verdict == "out"
    partly = terminology(value_set("p", {"system": TOOLS}, {"valueSet": [f"{SETS}/nowhere"]}))
    assert [partly.member(f"{SETS}/p", None, code).verdict for code in ("loop", "x")] == ["in", "unknown"]


def test_names_beside_codes() -> None:
    listed = value_set("v", {"system": TOOLS, "concept": [{"code": "loop", "display": "Wire loop"}]}, WHOLE)
    asked = terminology(listed)
    right = [
        ("loop", "Loop"),
        ("loop", " wire  LOOP"),
        ("otoscope", "Ohrspiegel"),
        ("otoscope", "Otoscope"),
        ("hook", None),
    ]
    assert {asked.member(listed["url"], TOOLS, *one).display_wrong for one in right} == {""}
    assert asked.member(listed["url"], TOOLS, "loop", "Hook").display_wrong == "Loop"
    assert asked.known(TOOLS, "loop", "Hook").display_wrong == "Loop"


def test_remarks_quote_no_words_of_the_data() -> None:
    asked = terminology(value_set("v", WHOLE))
    answer = asked.member(f"{SETS}/v", TOOLS, "candle", "Something about somebody")
    told = list(remarks(answer, TOOLS, "candle", Where()))
    assert [one.rule for one in told] == ["T205", "T206"]
    assert "somebody" not in repr(told)
    assert list(remarks(asked.member(f"{SETS}/v", TOOLS, "loop", "Loop"), TOOLS, "loop", Where())) == []


def test_an_expansion_serves_where_the_composition_cannot_decide() -> None:
    far = "http://example.org/far"
    contains = [{"system": far, "code": "1", "contains": [{"system": far, "code": "2"}]}, {"display": "a heading"}]
    composed = value_set("v", filtered("x", "=", "y", far), expansion={"contains": contains})
    asked = terminology(composed, {"resourceType": "ValueSet", "url": f"{SETS}/e", "expansion": {"contains": contains}})
    assert [asked.member(f"{SETS}/v", far, code).verdict for code in "123"] == ["in", "in", "unknown"]
    assert [asked.member(f"{SETS}/e", far, code).verdict for code in "123"] == ["in", "in", "out"]


@pytest.mark.parametrize(
    "more",
    [
        {"total": 7},
        {"offset": 5},
        {"extension": [{"url": "http://hl7.org/fhir/StructureDefinition/valueset-unclosed", "valueBoolean": True}]},
        {"extension": [{"url": "http://hl7.org/fhir/StructureDefinition/valueset-toocostly", "valueBoolean": True}]},
    ],
)
def test_an_expansion_that_is_not_all_says_no_no(more: Json) -> None:
    far = "http://example.org/far"
    definition = {
        "resourceType": "ValueSet",
        "url": f"{SETS}/e",
        "expansion": {"contains": [{"system": far, "code": "1"}], **more},
    }
    asked = terminology(definition)
    assert [asked.member(f"{SETS}/e", far, code).verdict for code in "13"] == ["in", "unknown"]


def test_systems_with_a_grammar_are_told_by_their_form() -> None:
    forms = {"http://unitsofmeasure.org": {"mm": True, "milimeter": False}.get}
    asked = terminology(value_set("v", {"system": "http://unitsofmeasure.org"}), forms=forms)
    verdicts = [
        asked.member(f"{SETS}/v", "http://unitsofmeasure.org", code).verdict for code in ("mm", "milimeter", "?")
    ]
    assert verdicts == ["in", "out", "unknown"]


WILD: list[Any] = [
    None,
    7,
    "x",
    [],
    {},
    [None],
    [[]],
    [{"code": 5}],
    [{"code": "a", "property": 3, "concept": "x"}],
    True,
]


@pytest.mark.parametrize("wild", WILD, ids=repr)
def test_definitions_of_any_shape_are_compiled_and_asked(wild: Any) -> None:
    for key in ("concept", "property", "content", "caseSensitive", "url", "version", "hierarchyMeaning", "count"):
        table = compile_code_system({**CODE_SYSTEM, key: wild})
        assert json.loads(json.dumps(table)) == table
    shapes: list[Json] = [{"compose": wild}, {"expansion": wild}, {"expansion": {"contains": wild, "total": wild}}]
    shapes += [{"compose": {"include": wild}}, {"compose": {"include": [WHOLE], "exclude": wild}}]
    shapes += [
        {"compose": {"include": [{"system": TOOLS, key: wild}]}} for key in ("concept", "filter", "valueSet", "version")
    ]
    shapes += [{"compose": {"include": [filtered("concept", "is-a", wild), filtered(wild, wild, "x")]}}]
    for shape in shapes:
        definition = {"resourceType": "ValueSet", "url": f"{SETS}/w", **shape}
        table = compile_value_set(definition)
        assert json.loads(json.dumps(table)) == table
        asked = terminology(definition)
        for system in (TOOLS, None, "", "x"):
            assert asked.member(f"{SETS}/w", system, "loop").verdict in {"in", "out", "unknown"}


def test_deep_and_ringed_hierarchies_end() -> None:
    deep: Json = concept("x0")
    for n in range(1, 3000):
        deep = {"code": f"x{n}", "concept": [deep]}
    ring = [
        concept("r1", property=[{"code": "parent", "valueCode": "r2"}]),
        concept("r2", property=[{"code": "parent", "valueCode": "r1"}]),
    ]
    system = {**CODE_SYSTEM, "url": "http://example.org/s", "concept": [deep, *ring]}
    asked = terminology(system, value_set("v", filtered("concept", "is-a", "x2999", system["url"])))
    assert asked.member(f"{SETS}/v", system["url"], "x0").verdict == "in"
    assert asked.member(f"{SETS}/v", system["url"], "r1").verdict == "out"


def test_a_code_that_stands_under_too_many_is_not_decided() -> None:
    many = 6_000
    concepts = [{"code": f"c{n}", "property": [{"code": "parent", "valueCode": f"c{n + 1}"}]} for n in range(many)]
    system = {**CODE_SYSTEM, "concept": [*concepts, {"code": f"c{many}"}]}
    asked = terminology(value_set("f", filtered("concept", "is-a", f"c{many}")), system)
    verdicts = [asked.member(f"{SETS}/f", TOOLS, f"c{n}").verdict for n in (many, many - 1, 1_500, 0)]
    assert verdicts == ["in", "in", "in", "unknown"]


def test_parts_of_value_sets_are_counted_for_each_piece_of_data(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(composition, "_MOST_PARTS", 40)
    asked = terminology(value_set("f", *({"system": f"urn:{n}"} for n in range(20))))
    codes = ["a", "b", "c"]
    assert [asked.member(f"{SETS}/f", TOOLS, code).verdict for code in codes] == ["out", "out", "unknown"]
    asked.renew()
    assert asked.member(f"{SETS}/f", TOOLS, "d").verdict == "out"
