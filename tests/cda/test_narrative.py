"""Narratives in CDA: valid by HL7's NarrativeBlock, no word lost, the same XHTML back where the block can say it."""

from __future__ import annotations

import random
import re
from html import unescape

import pytest
from lxml import etree

from bridge.cda.narrative import block_of, div_of
from tests.cda.documents import schema

XHTML = '<div xmlns="http://www.w3.org/1999/xhtml">'
SAME = [
    "<p>Nothing is asked of the family doctor.</p>",
    "<p><b>Right ear</b></p><ul><li>told by the client: &quot;blocked&quot;</li><li>two<br/>lines</li></ul>",
    "<dl><dt>Right ear</dt><dd>wax: complete</dd><dd><b>Pain:</b> 3</dd><dt>Left ear</dt></dl><p>Caution: none.</p>",
    "<ol><li>first<ul><li>inner</li></ul></li></ol>",
    "<table><caption>Codes</caption><thead><tr><th>Word</th></tr></thead><tbody><tr><td>wax</td></tr></tbody></table>",
    '<p>H<sub>2</sub>O, <i>see</i> <u>here</u>: <a href="https://example.org/a?b=1&amp;c">page</a></p>',
    "<p>tab\there &lt;b&gt; &amp; 李 ß</p>",
]
FRAME = """<ClinicalDocument xmlns="urn:hl7-org:v3"><typeId root="2.16.840.1.113883.1.3" extension="POCD_HD000040"/>
<id nullFlavor="NI"/><code nullFlavor="NI"/><effectiveTime nullFlavor="NI"/><confidentialityCode code="N"/>
<recordTarget><patientRole><id nullFlavor="NI"/></patientRole></recordTarget><author><time nullFlavor="NI"/>
<assignedAuthor><id nullFlavor="NI"/></assignedAuthor></author><custodian><assignedCustodian>
<representedCustodianOrganization><id nullFlavor="NI"/></representedCustodianOrganization></assignedCustodian>
</custodian><component><structuredBody><component><section/></component></structuredBody></component></ClinicalDocument>"""


def block_faults(block: etree._Element) -> list[str]:
    root = etree.fromstring(FRAME)
    section = root.find(".//{urn:hl7-org:v3}section")
    assert section is not None
    section.append(block)
    found = schema()
    return [] if found.validate(root) else [e.message for e in found.error_log]


def said(xml: str) -> str:
    """The letters and digits of a text with markup."""
    return re.sub(r"\W", "", unescape(re.sub(r"<[^>]*>", "", xml)))


@pytest.mark.parametrize("inner", SAME)
def test_what_letters_are_made_of_comes_back_the_same(inner: str) -> None:
    div = f"{XHTML}{inner}</div>"
    block = block_of(div)
    assert div_of(block) == div
    assert block_faults(block) == []


def test_a_name_with_what_is_told_under_it_is_a_caption_with_a_list() -> None:
    block = block_of(f"{XHTML}<dl><dt>Right ear</dt><dd>wax</dd></dl></div>")
    assert etree.tostring(block, method="text", encoding="unicode") == "Right earwax"
    assert [e.tag.rpartition("}")[2] for e in block.iter()] == ["text", "list", "item", "caption", "list", "item"]


INLINE = ("b", "i", "u", "span", "em", "strong", "code", "sub", "sup", "a", "small")
BLOCKS = (
    "p",
    "div",
    "ul",
    "ol",
    "dl",
    "table",
    "table",
    "tbody",
    "h1",
    "h3",
    "blockquote",
    "pre",
    "section",
    "li",
    "dt",
    "td",
    "tr",
)


def some_xhtml(rng: random.Random, depth: int, words: list[str]) -> str:
    """Elements of XHTML in any order and nesting, right or wrong, each word numbered."""
    made = ""
    for _ in range(rng.randrange(1, 4)):
        if rng.random() < 0.5 or depth > 6:
            words.append(f"w{len(words)}")
            made += rng.choice(("", " ")) + words[-1] + rng.choice(("", " ", "<br/>", "<hr/>", "<!-- x -->"))
        else:
            name = rng.choice(rng.choice((INLINE, BLOCKS)))
            made += f"<{name}>{some_xhtml(rng, depth + 1, words)}</{name}>"
    return made


@pytest.mark.parametrize("seed", range(300))
def test_no_word_is_lost_whatever_it_is_nested_in(seed: int) -> None:
    words: list[str] = []
    div = f"{XHTML}{some_xhtml(random.Random(seed), 0, words)}</div>"
    block = block_of(div)
    assert block_faults(block) == []
    assert sorted(re.findall(r"w\d+", "".join(block.itertext()))) == sorted(words)
    back = div_of(block)
    assert back is not None
    assert sorted(re.findall(r"w\d+", back.removeprefix(XHTML))) == sorted(words)
    etree.fromstring(back)


@pytest.mark.parametrize("div", ["<div>a <b>c</div>", "a & b", "<div>&nbsp;x</div>", "<<<", f"{XHTML}{'<b>' * 300}x"])
def test_what_is_no_xhtml_is_kept_as_words(div: str) -> None:
    block = block_of(div)
    assert block_faults(block) == []
    assert said(div).replace("nbsp", "") in said(etree.tostring(block, encoding="unicode"))


def test_an_address_that_could_run_something_is_left_out_and_its_words_stay() -> None:
    block = block_of(f'{XHTML}<p><a href="javascript:alert(1)">press</a></p></div>')
    assert "javascript" not in etree.tostring(block, encoding="unicode")
    hostile = etree.fromstring('<text xmlns="urn:hl7-org:v3"><linkHtml href="javascript:x">press</linkHtml></text>')
    assert div_of(hostile) == f"{XHTML}<span>press</span></div>"


def test_a_picture_is_its_words() -> None:
    block = block_of(f'{XHTML}<p>Seen: <img src="x.png" alt="right ear, wax"/></p></div>')
    assert "right ear, wax" in etree.tostring(block, encoding="unicode")
