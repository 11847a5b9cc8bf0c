"""Any data that the tables allow comes back from XML as it was, and lxml reads the same from it.

The data are made from our tables, not from the standard: what is judged is that nothing is lost on the way.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from bridge.fhir import tables
from bridge.fhir.read_json import read_json
from bridge.fhir.read_xml import read_xml
from bridge.fhir.tables import Element
from bridge.fhir.write_json import dumps
from bridge.fhir.write_xml import NotXmlError, write_xml
from tests.fhir.test_xml_published import shown

XHTML = "http://www.w3.org/1999/xhtml"
SIGNS = st.characters(exclude_categories=["Cs"], exclude_characters=[*map(chr, {*range(32)} - {9, 10, 13}),
                                                                     "\ufffe", "\uffff"])  # fmt: skip
TEXTS = st.text(SIGNS, min_size=1, max_size=12)
ESCAPED = TEXTS.map(lambda t: t.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;"))
DIVS = st.recursive(
    ESCAPED,
    lambda inner: st.lists(inner | inner.map(lambda t: f'<b title="a\r\n&#9;">{t}</b>') | st.just("<br />"), max_size=3)
    .map("".join),
).map(lambda t: f'<div xmlns="{XHTML}">{t}</div>')  # fmt: skip


def number(text: object) -> Any:
    return read_json(f'{{"n": {text}}}'.encode())[0]["n"]


# a Decimal does not keep every form: 0.0E+1 is written 0, which is read as int
NUMBERS = (
    st.from_regex(r"-?(0|[1-9][0-9]{0,20})(\.[0-9]{1,20})?(E[+-][1-9][0-9]?)?", fullmatch=True).map(number).map(number)
)
SIMPLE = {"boolean": st.booleans(), "xhtml": DIVS} | dict.fromkeys(
    ("decimal", "integer", "positiveInt", "unsignedInt"), NUMBERS
)
ROOTS = ("Patient", "Observation", "Bundle", "Questionnaire", "Composition", "Timing", "Parameters", "ValueSet")


def value(draw: Any, found: Element, depth: int) -> Any:
    if found.type == tables.RESOURCE:
        return resource(draw, draw(st.sampled_from(["Organization", "Basic", "Binary"])), depth + 1)
    if found.primitive:
        return draw(SIMPLE.get(found.type, TEXTS))
    return thing(draw, found.type, depth + 1)


def thing(draw: Any, type: str, depth: int) -> dict[str, Any]:
    """An object with at least one element; deep ones have simple values only."""
    known = [e for e in tables.elements(type).values() if depth < 3 or e.primitive]
    chosen = draw(st.lists(st.sampled_from(known), min_size=1, max_size=4, unique_by=lambda e: e.name))
    made: dict[str, Any] = {}
    for found in chosen:
        extended = found.primitive and not found.attribute and found.type != "xhtml" and draw(st.booleans())
        if not found.many:
            rows = [value(draw, found, depth)]
        else:
            rows = [value(draw, found, depth) for _ in range(draw(st.integers(1, 3)))]
        if extended:
            beside = [draw(st.none() | st.just({"id": "a"}) | st.just({"extension": [{"url": "u"}]})) for _ in rows]
            rows = [draw(st.sampled_from([row, None])) if more else row for row, more in zip(rows, beside, strict=True)]
            if any(beside):
                made[f"_{found.name}"] = beside if found.many else beside[0]
        if any(row is not None for row in rows):
            made[found.name] = rows if found.many else rows[0]
    return made


def resource(draw: Any, type: str, depth: int = 0) -> dict[str, Any]:
    return {"resourceType": type, **thing(draw, type, depth)}


@settings(max_examples=150)
@given(st.data())
def test_any_data_comes_back(data: st.DataObject) -> None:
    given_ = resource(data.draw, data.draw(st.sampled_from([t for t in ROOTS if tables.is_resource(t)])))
    content = write_xml(given_)
    back, issues = read_xml(content)
    assert issues == []
    assert shown(back) == shown(given_)
    assert write_xml(back) == content
    root = etree.fromstring(content)
    theirs = sorted(str(e.get("value")) for e in root.iter("{http://hl7.org/fhir}*") if e.get("value") is not None)
    assert theirs == sorted(_values(given_))


def _values(node: Any, key: str = "", type: str = "") -> list[str]:
    """What stands in the `value` attributes, by JSON alone: simple values but ids, urls of extensions and divs."""
    known = tables.elements(node["resourceType"] if isinstance(node, dict) and "resourceType" in node else type)
    if isinstance(node, list):
        return [text for item in node for text in _values(item, key, type)]
    if isinstance(node, dict):
        found = []
        for name, inner in node.items():
            element = known.get(name)
            if name == "resourceType" or name[0] == "_" or element is None or element.attribute:
                continue
            found += _values(inner, name, element.type)
        return found
    if node is None or type == "xhtml":
        return []
    return [str(node).lower() if isinstance(node, bool) else str(node)]


@given(st.text(st.characters(), min_size=1, max_size=8))
def test_every_text_is_written_whole_or_refused(text: str) -> None:
    possible = all(c in "\t\n\r" or " " <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c > "\uffff" for c in text)
    given_ = {"resourceType": "Patient", "extension": [{"url": text, "valueString": text}]}
    if not possible:
        with pytest.raises(NotXmlError) as refused:
            write_xml(given_)
        assert {i.rule for i in refused.value.issues} == {"S153"}
        return
    content = write_xml(given_)
    assert read_xml(content) == (given_, [])
    assert etree.fromstring(content)[0].get("url") == text


def test_the_same_data_gives_the_same_bytes_whatever_the_order_of_keys() -> None:
    one = {"resourceType": "Patient", "active": True, "name": [{"use": "usual", "family": "A"}], "id": "a"}
    other = {"id": "a", "name": [{"family": "A", "use": "usual"}], "resourceType": "Patient", "active": True}
    assert write_xml(one) == write_xml(other) == (
        b'<?xml version="1.0" encoding="UTF-8"?>\n<Patient xmlns="http://hl7.org/fhir">\n  <id value="a"/>\n'
        b'  <active value="true"/>\n  <name>\n    <use value="usual"/>\n    <family value="A"/>\n  </name>\n'
        b"</Patient>\n"
    )  # fmt: skip


@pytest.mark.parametrize("number", ["1.50", "0.0000010", "1E-22", "-0", "0", "1.0", "100000000000000000000"])
def test_a_number_is_written_with_its_digits(number: str) -> None:
    given_ = {"resourceType": "Basic", "extension": [{"url": "u", "valueDecimal": Decimal(number)}]}
    assert f'<valueDecimal value="{number}"/>'.encode() in write_xml(given_)


@pytest.mark.parametrize("number", [float("nan"), float("inf"), Decimal("NaN")])
def test_what_is_no_number_is_refused(number: Any) -> None:
    with pytest.raises(NotXmlError):
        write_xml({"resourceType": "Basic", "extension": [{"url": "u", "valueDecimal": number}]})


@pytest.mark.parametrize("data", [None, [], "a", {}, {"resourceType": "Fish"}, {"resourceType": ["Patient"]},
                                  {"resourceType": "Patient", "name": [[]]}, {"resourceType": "Patient", 1: 2},
                                  {"resourceType": "Patient", "name": None}, {"resourceType": "Patient", "id": []},
                                  {"resourceType": "Patient", "_birthDate": 1, "birthDate": "1950"},
                                  {"resourceType": "Patient", "text": {"div": 1}}])  # fmt: skip
def test_data_of_any_shape_is_refused_in_plain_words(data: Any) -> None:
    with pytest.raises(NotXmlError) as refused:
        write_xml(data)
    assert all(i.rule == "S154" and i.message.endswith(".") for i in refused.value.issues)


def test_what_json_writes_too_is_the_same() -> None:
    given_ = {"resourceType": "Patient", "text": {"status": "generated", "div": f'<div xmlns="{XHTML}">a\r\n</div>'}}
    assert read_xml(write_xml(given_))[0] == read_json(dumps(given_))[0]
