"""Simple values: the usual patterns against the careful functions, and both against the published regular expressions.

Oracles: the `regex` of each simple type in profiles-types.json of the standard, and the calendar of Python.
"""

from __future__ import annotations

import re
from datetime import date

import jsonschema_rs
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bridge.check.primitive_patterns import patterns
from bridge.check.primitives import MAX_TEXT, TEXTS, looks_blank
from tests.standards import standard_json

USUAL = {type: re.compile(pattern) for type, pattern in patterns().items()}
UUID = "urn:uuid:0c3151bd-1cbf-4d64-b04d-cd9187a4c6e0"
GOOD = {
    "base64Binary": ["QQ==", "QUI=", "QUJD", "QUJDREVG"],
    "canonical": ["http://hl7.org/fhir/ValueSet/a|4.0.1", "http://a.org/b#c", "http://a.org/b|1.0#c", UUID,
    "urn:oid:1.2.3"],
    "code": ["final", "mm[Hg]", "a b c", "<=", "10*3/uL", "{score}"],
    "date": ["2010", "2010-05", "2010-05-31", "2024-02-29", "2000-02-29", "0001-01-01", "9999-12-31"],
    "dateTime": ["2010", "2010-05", "2024-02-29", "2010-05-03T10:15:00Z", "2010-05-03T10:15:00.123-05:00",
    "2024-02-29T23:59:59+14:00"],
    "id": ["a", "A.b-9", "x" * 64],
    "instant": ["2010-05-03T10:15:00Z", "2024-02-29T23:59:59.999999+01:00"],
    "markdown": ["# a\n\nb", " a", "é", "日本語", "😀"],
    "oid": ["urn:oid:1.2.3", "urn:oid:2.16.840.1.113883.3.1", "urn:oid:0.0"],
    "string": ["a", "a b", " a ", "a\nb", "\ta", "é", "日本語", "😀", "\u200bx"],
    "time": ["00:00:00", "23:59:59", "10:15:00.5"],
    "uri": ["http://a.org", "https://a.org/b?c=d&e=%20#f", "urn:ietf:rfc:3986", UUID, "urn:oid:1.2.3", "Patient/1",
    "#a", "mailto:a@b.org",
            "Patient?identifier=a|b", "tel:+44-20"],
    "url": ["http://a.org/b:80/c", "ftp://a.org", "Binary/1"],
    "uuid": [UUID],
}  # fmt: skip
BAD = {
    "base64Binary": ["QQ=", "YWJj=", "YWJj==", " \n", "QQ\u00a0==", "QQ", "Q", "QQ===", "QQ==QQ==", "Q!==", "=", "é"],
    "canonical": ["a b", "http://a.org/ b", "urn:oid:1", "http://a.org|1 2", "urn:uuid:1|1.0", "urn:oid:1|2",
    "oid:1.2|3"],
    "code": [" a", "a ", "a  b", "a\tb", "a\nb", " ", "a\n"],
    "date": ["10", "2010-5", "2010-13", "2010-00", "2010-02-30", "2023-02-29", "1900-02-29", "2100-02-29", "0000",
    "0000-01-01", "2010-04-31",
             "2010-01-00", "20100503", "2010/05/03", "03-05-2010", "2010-05-03T", "2010-05-03Z", "٢٠١٠", " 2010",
             "2010\n", "+2010", "-2010",
             "12010"],
    "dateTime": ["2010-05-03T10:15", "2010-05-03T10:15Z", "2010-05-03T10:15:00", "2010-05-03T24:00:00Z",
    "2010-05-03T10:60:00Z", "2010-05T10:15:00Z",
                 "2010-05-03T10:15:60Z", "2010-05-03T10:15:61Z", "2010-05-03 10:15:00Z", "2010-05-03t10:15:00z",
                 "2010-05-03T10:15:00.Z",
                 "2010-05-03T10:15:00+14:01", "2010-05-03T10:15:00+15:00", "2010-05-03T10:15:00+0100",
                 "2010-05-03T10:15:00+01", "2023-02-29T10:15:00Z",
                 "2010-05-03T10:15:00,5Z", "0000-01-01T00:00:00Z"],
    "id": ["", "x" * 65, "a_b", "a b", "a/b", "é", "a\n", "#a"],
    "instant": ["2010", "2010-05-03", "2010-05-03T10:15:00", "2010-05-03T10:15Z", "2023-02-29T10:15:00Z"],
    "oid": ["1.2.3", "urn:oid:3.1", "urn:oid:1", "urn:oid:1.02", "urn:oid:1..2", "urn:oid:1.2.", "URN:OID:1.2",
    "urn:oid:"],
    "time": ["24:00:00", "10:15", "10:15:00Z", "1:15:00", "10:60:00", "10:15:61", "10:15:00.", "10:15:00+01:00"],
    "uri": ["a b", " http://a.org", "http://a.org\n", "urn:oid:1.2.x", "urn:uuid:1", "oid:1.2.3",
    "uuid:0c3151bd-1cbf-4d64-b04d-cd9187a4c6e0"],
    "url": ["http://a.org/a b"],
    "uuid": ["0c3151bd-1cbf-4d64-b04d-cd9187a4c6e0", UUID.upper(), UUID[:-1], UUID + "0", UUID.replace("-", "")],
}  # fmt: skip
RIGHT_BUT_RARE = {
    "canonical": [f"{UUID}|1.0", f"{UUID}#a", "urn:oid:1.2.3|2", f"{UUID}|1.0#a", "#a", "ValueSet/a"],
    "base64Binary": ["QUJD\nQUJD", " QQ== "],
    "dateTime": ["2016-12-31T23:59:60Z", "2017-01-01T00:59:60+01:00", "2015-06-30T18:59:60-05:00"],
    "instant": ["2016-12-31T23:59:60Z"],
    "time": ["23:59:60"],
    "uri": ["urn:uuid:0C3151BD-1CBF-4D64-B04D-CD9187A4C6E0", f"{UUID}#a", "urn:oid:1.2.3#a"],
}


def remarks(type: str, value: str) -> str | None:
    """What `bridge.check.simple` would tell, as short."""
    if not value:
        return "is empty"
    return TEXTS[type](value) or (looks_blank(value) if type not in ("code", "xhtml") else None)


def test_every_type_that_is_text_has_a_pattern() -> None:
    assert set(patterns()) == set(TEXTS) - {"xhtml"}


@pytest.mark.parametrize(("type", "value"), [(t, v) for t, values in GOOD.items() for v in values])
def test_common_values(type: str, value: str) -> None:
    assert USUAL[type].fullmatch(value)
    assert remarks(type, value) is None


@pytest.mark.parametrize(("type", "value"), [(t, v) for t, values in BAD.items() for v in values])
def test_wrong_values(type: str, value: str) -> None:
    assert remarks(type, value)
    assert not USUAL[type].fullmatch(value)


@pytest.mark.parametrize(("type", "value"), [(t, v) for t, values in RIGHT_BUT_RARE.items() for v in values])
def test_rare_values(type: str, value: str) -> None:
    assert remarks(type, value) is None
    assert not USUAL[type].fullmatch(value)


def test_every_day_of_eight_centuries() -> None:
    """Oracle: Python's calendar."""
    for year in (*range(1, 12), *range(1890, 1910), *range(1996, 2030), 2100, 2400, 9999):
        for month in range(1, 13):
            for day in range(1, 32):
                text = f"{year:04}-{month:02}-{day:02}"
                try:
                    real = bool(date(year, month, day))
                except ValueError:
                    real = False
                assert (USUAL["date"].fullmatch(text) is not None) is real, text
                assert (TEXTS["date"](text) is None) is real, text


CHARACTERS = st.one_of(
    st.sampled_from(list("0123456789-:.TZ+ =/abfANx#%|?\n\t\u00a0\u2003é\x00\x7f\x85\u200b")), st.characters()
)
ANY = st.text(CHARACTERS, max_size=30)
NEAR = st.sampled_from([v for values in (*GOOD.values(), *BAD.values(),
*RIGHT_BUT_RARE.values()) for v in values]).flatmap(
    lambda value: st.builds(lambda at, with_, cut: value[:at] + with_ + value[at + cut :], st.integers(0, len(value)),
    st.text(CHARACTERS, max_size=2), st.integers(0, 2))
)  # fmt: skip


@pytest.mark.parametrize("type", sorted(patterns()))
@settings(max_examples=400, deadline=None)
@given(value=st.one_of(ANY, NEAR))
@example(value="a\n")
@example(value="\u200b")
@example(value="oid:1")
@example(value="urn:oid:1.2")
def test_usual_means_that_nothing_is_found(type: str, value: str) -> None:
    if USUAL[type].fullmatch(value):
        assert remarks(type, value) is None


@settings(max_examples=300, deadline=None)
@given(value=st.one_of(ANY, NEAR).filter(lambda text: text.encode("utf-8", "ignore").decode() == text))
def test_both_engines_agree(value: str) -> None:
    """The engine of the gate's schema takes the same values."""
    for type, engine in ENGINES.items():
        assert engine.is_valid(value) is (USUAL[type].fullmatch(value) is not None)


ENGINES = {
    type: jsonschema_rs.validator_for({"type": "string", "pattern": f"^(?:{pattern})$"},
    pattern_options=jsonschema_rs.RegexOptions())
    for type, pattern in patterns().items()
}  # fmt: skip

STRICTER = {"code", "date", "dateTime", "instant", "uri", "url", "canonical"}
"""Prose asks for more than the pattern: valid dates, single spaces, well-formed OIDs and UUIDs."""
WIDER = {"base64Binary"}
"""Blanks may stand anywhere (RFC 2045), not only between groups of four."""


@pytest.mark.parametrize("type", sorted(patterns()))
def test_against_the_published_expressions(type: str) -> None:
    definition = next(
        entry["resource"]
        for entry in standard_json("fhir-r4/profiles-types.json.gz")["entry"]
        if entry["resource"].get("id") == type and entry["resource"]["resourceType"] == "StructureDefinition"
    )
    element = next(e for e in definition["snapshot"]["element"] if e["path"] == f"{type}.value")
    regex = next(x["valueString"] for x in element["type"][0]["extension"] if x["url"].endswith("/regex"))
    published = re.compile(regex, re.ASCII)
    for value in [v for values in (*GOOD.values(), *BAD.values()) for v in values]:
        mine, theirs = remarks(type, value) is None, published.fullmatch(value) is not None and value != ""
        if mine and type not in WIDER:
            assert theirs, value
        if theirs and type not in STRICTER | WIDER and looks_blank(value) is None:
            assert mine, value


def test_texts_longer_than_a_megabyte() -> None:
    assert TEXTS["string"]("a" * MAX_TEXT) is None
    assert TEXTS["markdown"]("a" * (MAX_TEXT + 1)) is not None
