"""Readable texts: what the quick look accepts, the careful one has no remark about; every published text is right.

Oracles: the published definitions and examples (made by the standard's own tools); fhir-xhtml.xsd of the standard.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from bridge.check.xhtml import DOUBTFUL, NAMESPACE, markup, narrative_faults
from bridge.check.xhtml_plain import plain_narratives
from tests.no_hang import no_hang
from tests.standards import standard_json, standards_file, standards_folder

HEAD = f'<div xmlns="{NAMESPACE}">'
PUBLISHED = ("profiles-types.json.gz", "valuesets.json.gz", "v3-codesystems.json.gz")


def div(inner: str) -> str:
    return f"{HEAD}{inner}</div>"


def texts(data: Any) -> Iterator[str]:
    waiting = [data]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            text = value.get("text")
            if isinstance(text, dict) and isinstance(text.get("div"), str):
                yield text["div"]
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)


def published() -> Iterator[str]:
    for name in PUBLISHED:
        yield from texts(standard_json(f"fhir-r4/{name}"))
    for path in sorted(standards_file("fhir-r4-examples").rglob("*.json")):
        yield from texts(standard_json(str(path.relative_to(standards_folder()))))


def test_every_published_text_is_right_and_most_are_plain() -> None:
    found = [(text, narrative_faults(text)) for text in dict.fromkeys(published())]
    assert len(found) > 1000
    assert [faults for _, faults in found if faults] == []
    plain = sum(plain_narratives([text]) for text, _ in found)
    assert plain > 0.9 * len(found)


@pytest.mark.parametrize(
    ("inner", "rule"),
    [
        ("<p>a", "S113"),
        ("a & b", "S113"),
        ("a&nbsp;b", "S113"),
        ("<?php a ?>b", "S113"),
        ('<p class="a" class="b">x</p>', "S113"),
        ("<p class=a>x</p>", "S113"),
        ('<p xmlns="">x</p>', "S113"),
        ('<svg xmlns="http://www.w3.org/2000/svg"/>a', "S113"),
        *(
            (f"<{name}>a</{name}>", "N101")
            for name in (
                "script", "style", "form", "input", "iframe", "frame", "frameset", "object", "embed", "applet",
                "base", "link",
                "head", "body", "html", "title", "meta", "font", "center", "u", "s", "strike", "ins", "del", "button",
                "video",
                "audio", "canvas", "section", "article", "marquee", "P", "SCRIPT", "Table", "menu", "dir",
            )
        ),
        ('<p onclick="x()">a</p>', "N102"),
        ('<p ONCLICK="x()">a</p>', "N102"),
        ('<img src="#a" alt="b" onerror="x()"/>', "N102"),
        ('<p href="#a">a</p>', "N102"),
        ('<p data-x="1">a</p>', "N102"),
        ('<a href="#b" target="_blank">a</a>', "N102"),
        ('<p xmlns:x="urn:x" x:href="#a">a</p>', "N102"),
        ('<a href="javascript:alert(1)">a</a>', "N103"),
        ('<a href=" JavaScript:alert(1)">a</a>', "N103"),
        ('<a href="java&#9;script:alert(1)">a</a>', "N103"),
        ('<a href="&#106;avascript:alert(1)">a</a>', "N103"),
        ('<a href="data:text/html;base64,QQ==">a</a>', "N103"),
        ('<a href="vbscript:x">a</a>', "N103"),
        ('<img src="data:text/html;base64,QQ==" alt="a"/>', "N103"),
        ('<q cite="javascript:x">a</q>', "N103"),
        ("", "N104"),
        (" \t\n", "N104"),
        ("<p/>", "N104"),
        ("<table><tr><td> </td></tr></table>", "N104"),
        ("<br/><hr/>", "N104"),
        ("<!-- words -->", "N104"),
        ('<img alt="a"/>', "N104"),
        ("<p><p>a</p></p>", "N105"),
        ("<p>a <b><ul><li>b</li></ul></b></p>", "N105"),
        ("<p><div>a</div></p>", "N105"),
        ('<p style="width: expression(x)">a</p>', "N106"),
        ('<p style="width: ex/**/pression(x)">a</p>', "N106"),
        ('<p style="background: url(java\\script:x)">a</p>', "N106"),
        ('<p style="-moz-binding: url(#a)">a</p>', "N106"),
        ('<p style="behavior: url(#a)">a</p>', "N106"),
        ('<img src="https://example.org/a.png" alt="a"/>', "N110"),
        ('<img src="//example.org/a.png" alt="a"/>', "N110"),
        ('<p style="background: URL( \'http://example.org/a\')">a</p>', "N110"),
        ("\u00a0", "N111"),
        ("<p>&#160;</p>", "N111"),
        ('<img src="#a"/>', "N112"),
        ('a<img alt="a"/>', "N112"),
        ('<p id="a">a</p><p id="a">b</p>', "N113"),
        ('<p id="a">a</p><p id="&#97;">b</p>', "N113"),
    ],
)  # fmt: skip
def test_what_is_wrong_inside(inner: str, rule: str) -> None:
    found = {fault.rule for fault in narrative_faults(div(inner))}
    assert rule in found
    assert found - {rule} <= DOUBTFUL
    assert not plain_narratives([div(inner)])


@pytest.mark.parametrize(
    "text",
    [
        "", "Wax", "<div>a</div>", f'<p xmlns="{NAMESPACE}">a</p>', f"<!DOCTYPE div>{div('a')}",
        f'<?xml version="1.0"?>{div("a")}',
        div("a") + div("b"), f"{div('a')}b", f"a{div('b')}", f'<div xmlns="{NAMESPACE}/">a</div>', f"{HEAD}a",
        div("<b>" * 101 + "a" + "</b>" * 101), '<div xmlns="http://www.w3.org/1999/XHTML">a</div>',
        f"<div xmlns='{NAMESPACE}'>a</DIV>",
    ],
)  # fmt: skip
def test_no_div_of_xhtml(text: str) -> None:
    assert "S113" in {fault.rule for fault in narrative_faults(text)}
    assert not plain_narratives([text])


def test_a_prefix() -> None:
    text = f'<h:div xmlns:h="{NAMESPACE}"><h:p>a</h:p></h:div>'
    assert {fault.rule for fault in narrative_faults(text)} == {"N107"}
    assert not plain_narratives([text])


@pytest.mark.parametrize(
    "inner",
    [
        "a", "<p>a</p><p>b</p>", "a &amp; b &#233; &#x2265; &quot;", "<!-- made by hand -->a", "<![CDATA[a & b]]>",
        'x <a name="b">y</a>',
        '<a href="https://example.org/?a=1&amp;b=2" title="it&apos;s">a</a>', '<a href="Patient/1">a</a>',
        '<a href="mailto:a@b.org">a</a>',
        '<img src="#a" alt="a"/>', '<img src="data:image/png;base64,QQ==" alt=""/>',
        '<img alt="a" src="a.png" width="3"/>',
        '<table border="1"><caption>a</caption><tr><th scope="col" colspan="2">a</th></tr><tbody/></table>',
        '<p style="color: red; font-size: 90%">a</p>', '<p style="background: url(data:image/png;base64,QQ==)">a</p>',
        "<pre> a\n b</pre>",
        '<p lang="en" xml:lang="en" dir="rtl">a</p>', '<td bgcolor="#fff" nowrap="nowrap">a</td>',
        "<kbd>a</kbd><bdo dir='rtl'>b</bdo>",
        "<p>a <b>b <i>c</i></b></p><ul><li><p>d</p></li></ul>", '<ol start="3"><li value="4">a</li></ol>',
        "\n <b>a</b>\n",
        '<p id="a">a</p><p id="b">b</p>', '<p xmlns:x="urn:x">a</p>',
    ],
)  # fmt: skip
def test_what_is_right(inner: str) -> None:
    assert narrative_faults(div(inner)) == []
    assert list(narrative_faults(div(inner))) == []


def test_the_line_is_told() -> None:
    fault = narrative_faults(div("a\n<p>b</p>\n<u>c</u>"))[0]
    assert fault.told.endswith("(line 3 of the text)")
    assert fault.cause == "u"


def test_many_faults_do_not_fill_the_report() -> None:
    assert len(narrative_faults(div("<u/>" * 1000 + "a"))) <= 20


def test_elements_and_attributes_of_the_published_schema_are_allowed() -> None:
    """Oracle: fhir-xhtml.xsd, which names each element with its attributes."""
    xs = "{http://www.w3.org/2001/XMLSchema}"
    schema = etree.parse(standards_file("fhir-r4/xsd/fhir-xhtml.xsd")).getroot()
    groups = {group.get("name"): group for group in schema.findall(f"{xs}attributeGroup")}

    def attributes(of: Any) -> Iterator[str]:
        for part in of.iter(f"{xs}attribute", f"{xs}attributeGroup"):
            if part.tag == f"{xs}attribute":
                yield part.get("name") or part.get("ref")
            elif part.get("ref"):
                yield from attributes(groups[part.get("ref")])

    known = markup().attributes
    elements = schema.findall(f"{xs}element")
    assert len(elements) > 40
    for element in elements:
        assert set(attributes(element)) <= known[element.get("name")], element.get("name")


NAMES = st.sampled_from(["p", "b", "table", "tr", "td", "a", "img", "ul", "li", "div", "br", "script", "u", "h2", "x"])
ATTRIBUTES = st.sampled_from(
    ["", ' class="a"', ' id="a"', ' id="b" id="b"', ' style="color: red"', ' style="x:url(http://a)"', ' href="#a"',
    ' colspan="2"',
     ' href="javascript:a"', ' src="#a" alt="b"', ' src="http://a" alt=""', ' alt="&amp;"', " onclick='x'",
     ' title="<"', ' xml:lang="en"',
     f' xmlns="{NAMESPACE}"', ' xmlns="urn:x"', ' name="a"', " x", ' href="data:a"', ' border="1" class="c"',
     ' src=""', '\nid="a"']
)  # fmt: skip
WORDS = st.sampled_from(
    [
        "",
        " ",
        "a",
        "&amp;",
        "&#160;",
        "&nbsp;",
        "&#1;",
        "<",
        ">",
        "]]>",
        "\u00a0",
        "\x00",
        "\ud800",
        "<!--a-->",
        "&#38;",
        "😀",
    ]
)
TAGS = st.builds(
    lambda a, n, b, c: f"{a}{n}{b}{c}",
    st.sampled_from(["<", "</"]),
    NAMES,
    ATTRIBUTES,
    st.sampled_from([">", "/>", " />"]),
)
INSIDE = st.recursive(
    WORDS,
    lambda inner: st.builds(
        lambda n, a, i: f"<{n}{a}>{''.join(i)}</{n}>", NAMES, ATTRIBUTES, st.lists(inner, max_size=3)
    ),
    max_leaves=12,
)


@settings(max_examples=600, deadline=None)
@given(st.one_of(INSIDE.map(div), st.lists(st.one_of(TAGS, WORDS), max_size=8).map("".join).map(div), st.builds(
    lambda a, i: f'<div{a} xmlns="{NAMESPACE}">{i}</div>', ATTRIBUTES, INSIDE)))  # fmt: skip
def test_plain_means_that_nothing_is_found(text: str) -> None:
    if plain_narratives([text]):
        assert narrative_faults(text) == []


def test_the_quick_look_is_linear_in_hostile_texts() -> None:
    for inner in ("<p>" * 20_000, "<b " * 20_000, '<p class="' + "a" * 50_000, "&" * 50_000, "<p>a</p>" * 20_000,
    "<img " * 20_000 + ">",
                  "<img a" * 20_000):  # fmt: skip
        with no_hang():
            plain_narratives([div(inner)])


def test_remarks_in_a_style_that_are_never_closed_are_read_in_time() -> None:
    with no_hang():
        assert list(narrative_faults(f'<div xmlns="{NAMESPACE}"><p style="{"/* " * 100_000}">a</p></div>')) == []
