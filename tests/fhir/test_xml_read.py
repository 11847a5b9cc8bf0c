"""R4 XML gives the data of the same resource in JSON; oracle: https://hl7.org/fhir/R4/xml.html and json.html."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from bridge.check.conformance import check_conformance
from bridge.fhir.read_xml import read_xml

XHTML = "http://www.w3.org/1999/xhtml"


def patient(inner: str, more: str = "") -> bytes:
    return f'<Patient xmlns="http://hl7.org/fhir"{more}>{inner}</Patient>'.encode()


def data_of(inner: str) -> dict[str, Any]:
    data, issues = read_xml(patient(inner))
    assert issues == []
    assert data.pop("resourceType") == "Patient"
    return dict(data)


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("1.50", Decimal("1.50")),
        ("0.0000010", Decimal("0.0000010")),
        ("1E-22", Decimal("1E-22")),
        ("1.00e+3", Decimal("1.00E+3")),
        ("-0", Decimal("-0")),
        ("-0.0", Decimal("-0.0")),
        ("7", 7),
        ("-12", -12),
        ("123456789012345678", 123456789012345678),
        ("1234567890123456789", Decimal("1234567890123456789")),
        # no numbers of the standard's pattern: texts, for the checks to tell of
        ("+5", "+5"),
        ("05", "05"),
        (".5", ".5"),
        ("5.", "5."),
        (" 5 ", " 5 "),
        ("1,5", "1,5"),
        ("٣", "٣"),
        ("NaN", "NaN"),
    ],
)
def test_a_number_stays_as_written(written: str, value: Any) -> None:
    found = data_of(f'<extension url="u"><valueDecimal value="{written}"/></extension>')["extension"][0]["valueDecimal"]
    assert (type(found), str(found)) == (type(value), str(value))


def test_values_are_those_of_json() -> None:
    assert data_of(
        '<active value="true"/><name id="n"><given value="Zoë"/><given><extension url="http://e.org/x">'
        '<valueCode value="a"/></extension></given><given id="g" value="B"/></name>'
        '<birthDate id="b" value="1950-01-01"/><multipleBirthInteger value="2"/>'
    ) == {
        "active": True,
        "name": [
            {
                "id": "n",
                "given": ["Zoë", None, "B"],
                "_given": [None, {"extension": [{"url": "http://e.org/x", "valueCode": "a"}]}, {"id": "g"}],
            }
        ],
        "birthDate": "1950-01-01",
        "_birthDate": {"id": "b"},
        "multipleBirthInteger": 2,
    }


def test_a_list_without_any_value_is_left_out() -> None:
    name = data_of('<name><given id="a"/><given id="b"/></name>')["name"][0]
    assert name == {"_given": [{"id": "a"}, {"id": "b"}]}


def test_resources_in_resources() -> None:
    content = (
        b'<Bundle xmlns="http://hl7.org/fhir"><type value="collection"/><entry><resource><Patient><contained>'
        b'<Organization><id value="o"/></Organization></contained></Patient></resource></entry></Bundle>'
    )
    data, issues = read_xml(content)
    assert issues == []
    assert data == {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [
            {
                "resource": {
                    "resourceType": "Patient",
                    "contained": [{"resourceType": "Organization", "id": "o"}],
                }
            }
        ],
    }


@pytest.mark.parametrize(
    ("around", "div", "text"),
    [
        ("", f'<div xmlns="{XHTML}"> a  <b>c</b>\n d </div>', None),
        ("", f'<div xmlns="{XHTML}"/>', None),
        ("", f'<div xmlns="{XHTML}"></div>', None),
        ("", f'<div xmlns="{XHTML}"><br/></div>', None),
        ("", f'<div title="/" xmlns="{XHTML}"></div>', None),
        ("", f"<div xmlns='{XHTML}'>&lt;&#160;<!-- &#13; --> é 𝄞</div>", None),
        ("", f'<div xmlns="{XHTML}">a&#13;\nb &#xD;</div>', f'<div xmlns="{XHTML}">a\r\nb \r</div>'),
        ("", f'<div xmlns="{XHTML}">a\r\nb\rc</div>', f'<div xmlns="{XHTML}">a\nb\nc</div>'),
        (f' xmlns:h="{XHTML}"', "<h:div><h:p>a</h:p></h:div>", f'<h:div xmlns:h="{XHTML}"><h:p>a</h:p></h:div>'),
        (' xmlns:z="urn:a&amp;b"', f'<div xmlns="{XHTML}"><p z:a="1">a</p></div>',
         f'<div xmlns:z="urn:a&amp;b" xmlns="{XHTML}"><p z:a="1">a</p></div>'),
        (' xmlns:z="urn:a"', f'<div xmlns="{XHTML}"><p xmlns:z="urn:b" z:a="1">a</p></div>',
         f'<div xmlns:z="urn:a" xmlns="{XHTML}"><p xmlns:z="urn:b" z:a="1">a</p></div>'),
        (' xmlns:z="urn:a"', f'<div xmlns="{XHTML}" xml:lang="en">a</div>', None),
    ],
)  # fmt: skip
def test_a_narrative_is_cut_out_as_it_stands(around: str, div: str, text: str | None) -> None:
    data, issues = read_xml(patient(f'<text><status value="generated"/>{div}</text><active value="true"/>', around))
    assert issues == []
    assert data["text"] == {"status": "generated", "div": text or div}
    assert data["active"] is True


def told(content: bytes) -> set[tuple[str, str]]:
    """What reading finds, and what is told of structure after it."""
    data, issues = read_xml(content)
    issues += check_conformance(data) if data is not None else []
    return {(i.rule, i.where.path) for i in issues if i.rule[0] == "S"}


@pytest.mark.parametrize(
    ("inner", "found"),
    [
        ('<active value="TRUE"/>', {("S105", "Patient.active")}),
        ('<multipleBirthInteger value="two"/>', {("S105", "Patient.multipleBirthInteger")}),
        ('<multipleBirthInteger value="1.0"/>', {("S110", "Patient.multipleBirthInteger")}),
        ('<gender value=""/>', {("S107", "Patient.gender")}),
        ('<birthDate value="1950-02-30"/>', {("S108", "Patient.birthDate")}),
        ('<gender value="f"/>', {("S111", "Patient.gender")}),
        ('<birthdate value="1950-01-01"/>', {("S102", "Patient.birthdate")}),
        ('<_birthDate value="1950-01-01"/>', {("S102", "Patient._birthDate")}),
        ('<resourceType value="Group"/>', {("S102", "Patient.resourceType")}),
        ('<active value="true"/><active value="false"/>', {("S104", "Patient.active")}),
        ('<maritalStatus><text value="a"/></maritalStatus><maritalStatus><text value="b"/></maritalStatus>',
         {("S104", "Patient.maritalStatus")}),
        ('<deceasedBoolean value="true"/><deceasedDateTime value="2020"/>', {("S106", "Patient")}),
        ('<contained><Fish/></contained>', {("S101", "Patient.contained[0]")}),
        ('<text><status value="generated"/><div>a</div></text>', {("S113", "Patient.text.div")}),
        ('<text><status value="generated"/></text>', {("S103", "Patient.text")}),
        ('<name><family><foo value="a"/></family></name>', {("S102", "Patient.name[0]._family.foo")}),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_content_is_told_as_in_json(inner: str, found: set[tuple[str, str]]) -> None:
    assert told(patient(inner)) == found


def test_all_faults_at_once_each_with_its_place() -> None:
    content = patient('\n <gender value="a">x</gender>\n <é/>\n <active foo="1"/>\n <a:b xmlns:a="urn:a"/>\n')
    _, issues = read_xml(content, "in.xml")
    assert [(i.rule, i.where.row, i.where.column, i.where.path) for i in issues] == [
        ("S148", 2, 20, "Patient._gender"),
        ("S147", 4, 2, "Patient.active"),
        ("S145", 4, 2, "Patient.active"),
        ("S149", 4, 2, "Patient.active"),
        ("S144", 5, 2, "Patient.b"),
    ]
    assert {i.where.file for i in issues} == {"in.xml"}


def test_what_was_found_before_the_end_of_reading_is_told_too() -> None:
    data, issues = read_xml(patient('<gender value="male"/><active value="true"/><name>'))
    assert data is None
    assert [i.rule for i in issues] == ["S147", "S140"]


def test_an_unknown_kind_of_resource_is_left_to_the_checks() -> None:
    data, issues = read_xml(b'<Fish xmlns="http://hl7.org/fhir"><fin value="a"/></Fish>')
    assert (data, issues) == ({"resourceType": "Fish"}, [])
    assert told(b'<Fish xmlns="http://hl7.org/fhir"/>') == {("S101", "Resource")}
