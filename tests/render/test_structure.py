"""The page as assistive technology, a printer and a browser without network meet it (WCAG 2.2, HTML)."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest
from lxml import html

from bridge.render.as_html import css_string, render
from tests.render.pages import bundle_of, page_of
from tests.render.raw_visits import Maker

MAX_CONTRAST_PAIR = 4.5
"""WCAG 2.2, 1.4.3 Contrast (Minimum), AA."""


@pytest.fixture(scope="module", params=range(6))
def root(request: pytest.FixtureRequest) -> Any:
    return html.document_fromstring(page_of(Maker(request.param).visit()).content.decode())


def test_language_title_and_landmarks(root: Any) -> None:
    assert root.get("lang") == "en-GB"
    assert "Q0" not in root.findtext(".//title"), "the name of a client has no place in a browser's history"
    assert [len(root.findall(f".//{n}")) for n in ("header", "main", "footer", "h1")] == [1, 1, 1, 1]


def test_headings_go_down_one_level_at_a_time(root: Any) -> None:
    levels = [int(n.tag[1]) for n in root.iter() if isinstance(n.tag, str) and re.fullmatch("h[1-6]", n.tag)]
    assert levels[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))


def test_every_heading_cell_has_a_scope_and_every_reference_a_target(root: Any) -> None:
    assert all(th.get("scope") in ("col", "row", "rowgroup") for th in root.iter("th"))
    ids = [n.get("id") for n in root.xpath("//*[@id]")]
    assert len(ids) == len(set(ids))
    wanted = {i for n in root.xpath("//*[@headers]") for i in n.get("headers").split()}
    wanted |= {n.get("aria-labelledby") for n in root.xpath("//*[@aria-labelledby]")}
    assert wanted <= set(ids)


def test_the_skip_link_comes_first_and_leads_to_the_content(root: Any) -> None:
    first = root.find("body")[0]
    assert first.tag == "a"
    target = root.get_element_by_id(first.get("href").removeprefix("#"))
    assert target.tag == "main"


def test_what_is_asked_comes_before_the_ears_and_the_rest(root: Any) -> None:
    titles = [h.text_content() for h in root.iter("h2")]
    assert titles.index("Action for you") < titles.index("The ears") < titles.index("Attendance details")
    assert titles[-2:] == ["Who wrote this", "Codes"]


def test_nothing_is_fetched_and_nothing_runs(root: Any) -> None:
    assert not root.xpath("//script | //link | //img | //iframe | //object | //form | //base")
    assert [a.get("href") for a in root.xpath("//*[@href]")] == ["#content"]
    assert not root.xpath("//@src | //@style")
    assert not any(name.startswith("on") for n in root.iter() for name in n.attrib)
    assert "url(" not in root.findtext(".//style")


def test_each_colour_of_text_has_enough_contrast(root: Any) -> None:
    style = root.findtext(".//style")
    for colour in re.findall(r"[^-]color: (#[0-9a-f]{3,6})", style):
        for ground in ("#fff", "#f1f1f1"):
            assert _contrast(colour, ground) >= MAX_CONTRAST_PAIR, (colour, ground)


def _contrast(first: str, second: str) -> float:
    """WCAG 2.2, definition of contrast ratio and relative luminance."""

    def luminance(colour: str) -> float:
        digits = colour.lstrip("#")
        digits = "".join(c * 2 for c in digits) if len(digits) == 3 else digits
        parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
        red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def test_no_code_in_the_sentences() -> None:
    raw = Maker(3).visit()
    wax = {"system": "http://snomed.info/sct", "code": "18070006", "display": "Impacted cerumen"}
    raw["right"] = {
        "before": {"wax": {"amount": {"text": "impacted", "codings": [wax]}}},
        "impressions": [{"term": {"text": "impacted wax", "codings": [wax]}}],
    }
    root = html.document_fromstring(page_of(raw).content.decode())
    codes = root.xpath("//section[h2='Codes']")[0]
    assert "18070006" in codes.text_content()
    codes.getparent().remove(codes)
    assert "18070006" not in root.text_content()


def test_same_bundle_same_bytes() -> None:
    bundle = bundle_of(Maker(2).visit())
    assert render(bundle) == render(bundle)


def test_the_name_comes_from_the_visit_number() -> None:
    raw = Maker(2).visit()
    assert page_of({**raw, "number": "2026-014"}).name == "2026-014.html"
    odd = page_of({**raw, "number": "../CON 7/é"}).name
    assert re.fullmatch(r"[A-Za-z0-9_-][A-Za-z0-9._-]*\.html", odd)
    assert odd != page_of({**raw, "number": "../CON 7/è"}).name
    assert page_of(raw).media_type == "text/html"


def test_text_in_the_style_sheet_cannot_leave_its_quotes() -> None:
    assert css_string('a"}</style>\\\n') == ("a\\000022 \\00007D \\00003C \\00002F style\\00003E \\00005C \\00000A ")


def test_each_printed_page_counts_itself_and_carries_the_marks_and_the_running_line() -> None:
    style = html.document_fromstring(page_of(Maker(2).visit()).content.decode()).findtext(".//style")
    assert '@bottom-right { content: "Page " counter(page) " of " counter(pages) "";' in style
    marks = css_string("Draft - not yet approved by the practitioner")
    assert f'@top-center {{ content: "{marks}";' in style
    assert re.search(r'@bottom-left \{ content: "[^"]*Q\d{3}Z[^"]*";', style), "the client's name"


def test_large_type_is_half_as_large_again_and_says_the_same() -> None:
    bundle = bundle_of(Maker(2).visit())
    plain, large = (html.document_fromstring(render(bundle, large=size).content.decode()) for size in (False, True))
    assert "font-size: 150%" in large.findtext(".//style")
    assert "font-size: 150%" not in plain.findtext(".//style")
    assert [" ".join(root.body.text_content().split()) for root in (plain, large)] == [
        " ".join(plain.body.text_content().split())
    ] * 2
