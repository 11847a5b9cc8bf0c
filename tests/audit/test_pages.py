"""The audit's pages: closed to the outside, safe, and with charts whose marks are as long as the numbers say.

Markup, accessibility and layout are judged by others in tests/oracles/test_html_pages.py.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import pytest
from lxml import html

from bridge.audit.figures import About, figures, read_figures
from bridge.audit.figures.cells import Cell
from bridge.audit.report.as_html import to_html
from bridge.audit.report.charts import Bar, Point, bars, line
from bridge.audit.roll_up import Expected, added
from bridge.audit.roll_up.as_html import to_html as rolled_up_html
from bridge.audit.shapes import Audited
from bridge.issues import Issue, Severity
from tests.audit.hand_made import HOSTILE, audited
from tests.audit.roll_ups import rolled_up, sent


def tree(page: str) -> Any:
    return html.document_fromstring(page)


def words(node: Any) -> str:
    return " ".join(node.text_content().split())


PAGES = {
    "run": to_html(audited(), clinic=f"Millbrook {HOSTILE}"),
    "run, few shown": to_html(audited(), show_small=True),
    "run, nothing": to_html(Audited()),
    "roll-up": rolled_up_html(rolled_up()),
    "roll-up, nothing": rolled_up_html(added([], [Expected("", HOSTILE)])),
}


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_a_page_asks_nothing_of_anybody(page: str) -> None:
    assert "default-src 'none'" in page
    assert not re.search(r"<(script|link|img|iframe|object|embed|form|base|meta http-equiv=.refresh)", page)
    assert not re.search(r"""\s(src|srcset|style|on\w+)\s*=""", page)
    assert set(re.findall(r'href="([^"]*)"', page)) == {"#content"}
    assert "url(" not in page
    assert "@import" not in page


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_words_of_records_stay_words(page: str) -> None:
    assert "<script" not in page
    assert not re.search("[\x00-\x08\x0b-\x1f\u202a-\u202e\u2066-\u2069]", page)


def test_hostile_words_are_shown_as_they_are() -> None:
    assert '=cmd|"<script>alert(1)</script>"' in words(tree(PAGES["run"]))


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_every_chart_has_a_title_a_description_and_its_numbers_in_a_table(page: str) -> None:
    document = tree(page)
    tables = " ".join(words(table) for table in document.iter("table"))
    for svg in document.iter("svg"):
        named = svg.get("aria-labelledby").split()
        assert svg.get("role") == "img"
        for name in named:
            assert words(document.get_element_by_id(name))
        for value in (words(text) for text in svg.iter("text")):
            share = re.match(r"\d[\d.]* %(?= of|$)", value)
            if share and share[0] not in ("0 %", "50 %", "100 %"):
                assert share[0] in tables


def test_the_run_has_charts_by_term_by_practitioner_over_time_and_of_the_worst() -> None:
    titles = [words(one) for one in tree(PAGES["run"]).iter("title")][1:]
    assert len(titles) == len(set(titles)) == 12
    for part in ("by month", "by practitioner", "worst patterns", "Words that get several codes"):
        assert any(part in title for title in titles)


def test_the_worst_ten_have_their_rows() -> None:
    document = tree(PAGES["run"])
    rows = [" ".join(words(cell) for cell in row) for row in document.iter("tr")]
    assert any(row.startswith("M26-0002 visits-2026.csv, row 2, column “Drum R” A113") for row in rows)
    assert any(row.startswith("M26-0002 visits-2026.csv, row 2 10 A113") for row in rows)
    many = replace(audited(), patterns=tuple(replace(one, pattern=f"I{n:02}") for n, one in
                                             enumerate(audited().patterns[:6] * 3, 1)))  # fmt: skip
    assert len(tree(to_html(many)).findall(".//article")) == 10


def test_few_records_are_told_only_where_that_was_asked_for() -> None:
    assert "under 5" in words(tree(PAGES["run"]))
    assert "under 5" not in words(tree(PAGES["run, few shown"]))
    assert "95.8 %, few" not in PAGES["run"]
    assert "75.0 % of 4, few" in words(tree(PAGES["run, few shown"]))


def test_the_caution_stands_before_the_numbers_of_people() -> None:
    page = words(tree(PAGES["run"]))
    assert page.index("do not judge the work of a person") < page.index("Rates of each practitioner")


def test_nothing_that_was_withheld_is_on_the_page_of_clinics() -> None:
    document = tree(PAGES["roll-up"])
    row = next(words(row) for row in document.iter("tr") if words(row).startswith("Little Clinic"))
    assert "a few" in row
    assert "nearly all" in row
    assert words(document).count("Gone Clinic") == 2


def rects(svg: str, look: str) -> list[tuple[float, float]]:
    found = re.findall(rf'<rect class="{look}" x="([\d.]+)" y="\d+" width="([\d.]+)"', svg)
    return [(float(x), float(width)) for x, width in found]


@pytest.mark.parametrize("share", [0.0, 0.004, 0.25, 0.5, 0.999, 1.0])
def test_a_bar_is_as_long_as_its_share(share: float) -> None:
    svg = bars("k", "t", "a", [Bar("name", (share,), "told")])
    ((start, room),) = rects(svg, "whole")
    drawn = rects(svg, "part-0")
    assert len(drawn) == (share > 0)
    for x, width in drawn:
        assert x == start
        assert abs(width - share * room) < 0.06


def test_parts_of_a_bar_follow_each_other_and_stay_inside() -> None:
    svg = bars("k", "t", "a", [Bar("name", (0.5, 0.3, 0.1, 0.4), "told")], narrow=True)
    ((start, room),) = rects(svg, "whole")
    end = start
    for look, share in (("part-0", 0.5), ("part-1", 0.3), ("part-2", 0.1), ("part-3", 0.1)):
        ((x, width),) = rects(svg, look)
        assert abs(x - end) < 0.11
        assert abs(width - share * room) < 0.06
        end = x + width
    assert end <= start + room + 0.2


def test_a_line_has_a_dot_for_each_month_at_its_height_and_a_gap_where_nothing_is_known() -> None:
    points = [Point("a", 0.0), Point("b", 1.0), Point("c", None), Point("d", 0.5), Point("e", 0.25)]
    svg = line("k", "t", "a", points)
    scale = [float(y) for y in re.findall(r'class="grid" d="M\d+ ([\d.]+)H', svg)]
    bottom, middle, top = scale
    dots = [(float(x), float(y)) for x, y in re.findall(r'cx="([\d.]+)" cy="([\d.]+)"', svg)]
    assert [y for _, y in dots] == pytest.approx([bottom, top, middle, bottom - 0.25 * (bottom - top)])
    assert [x for x, _ in dots] == sorted(x for x, _ in dots)
    runs = re.findall(r'class="line" d="M([^"]+)"', svg)
    assert [run.count("L") + 1 for run in runs] == [2, 2]


@pytest.mark.parametrize("count", [1, 2, 3, 12, 60])
def test_a_line_of_any_length_keeps_its_words_inside(count: int) -> None:
    svg = line("k", "t", "a", [Point(f"Jan {n}", n / count) for n in range(count)])
    width = int(re.findall(r'viewBox="0 0 (\d+)', svg)[0])
    assert all(0 <= float(x) <= width for x in re.findall(r'(?:cx| x)="([\d.]+)"', svg))
    assert len(re.findall(">Jan ", svg)) <= 6


def test_the_same_audit_gives_the_same_page() -> None:
    assert to_html(audited()) == to_html(audited())
    assert rolled_up_html(rolled_up()) == rolled_up_html(rolled_up())


def test_a_count_that_a_clinic_withheld_is_drawn_as_the_least_that_it_can_be() -> None:
    clinic = sent("k1", "Millbrook Ear Care")
    clinic = replace(clinic, rates={**clinic.rates, "coded": Cell(None, 600, "nearly all")})
    page = tree(rolled_up_html(added([clinic])))
    chart = next(svg for svg in page.xpath("//svg") if "nearly all" in words(svg))
    (whole, *_), own = (chart.xpath(f'.//rect[@class="{look}"]/@width') for look in ("whole", "part-0"))
    assert [float(width) > 0.98 * float(whole) for width in own] == [True, True]


def test_a_clinic_can_be_called_anything() -> None:
    data = figures(audited(), About("k", HOSTILE, "2026-11", "free"))
    found, issues = read_figures(json.dumps(data).encode(), "a.json")
    assert issues == []
    assert found is not None
    assert HOSTILE[:5] in words(tree(rolled_up_html(added([found]))))


def test_a_number_stays_with_what_it_counts_and_a_month_with_its_year() -> None:
    page = to_html(audited())
    shown = re.sub(r"(?s)<style>.*?</style>|<svg.*?</svg>", "", page)
    assert "93.5\N{NO-BREAK SPACE}% (2,900\N{NO-BREAK SPACE}of\N{NO-BREAK SPACE}3,100)" in shown
    assert "March\N{NO-BREAK SPACE}2026" in shown
    assert not re.search(r"\d %", shown)


def test_labels_of_bars_have_the_room_that_they_need_and_no_more() -> None:
    def label(text: str, *, narrow: bool) -> tuple[float, str]:
        drawn = bars("k", "t", "a", [Bar(text, (0.5,), "1 of 2")], narrow=narrow)
        return float(re.findall(r'class="name" x="([\d.]+)"', drawn)[0]), re.findall(r">([^<>]+)</text>", drawn)[0]

    assert label("PS", narrow=True)[0] < 60
    assert label("Alder Hearing", narrow=True)[1] == "Alder Hearing"
    assert label("I13 Suspected or ruled out coded as confirmed", narrow=False)[1].endswith("confirmed")
    x, cut = label("Longmeadow Hearing and Ear Care of the Valley", narrow=True)
    assert cut.endswith("…")
    assert 7.4 * len(cut) <= x  # as wide as the widest names are


def test_notes_stand_at_the_end_of_the_page() -> None:
    note = Issue("A193", "3 documents left out.", help="Nothing.", severity=Severity.information)
    page = to_html(replace(audited(), issues=[note, *audited().issues]))
    assert page.index("A150") < page.index('id="rates"') < page.index('id="limits"') < page.index("A193")
    assert 'id="notes"' not in to_html(audited())
