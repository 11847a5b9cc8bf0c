"""How dates are written is found out from all cells; the order of day and month is proven or asked, never assumed."""

from __future__ import annotations

from collections import Counter
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.drafting.dates import clock, first_year, read_date, ways
from bridge.layout.formats import date_format
from bridge.read.moments import parse_date

CASES: list[tuple[list[str], list[str], list[str]]] = [
    (["03/05/2026", "14/05/2026"], ["dd/mm/yyyy"], []),
    (["05/03/2026", "05/14/2026"], ["mm/dd/yyyy"], []),
    (["03/05/2026", "04/05/2026"], [], ["dd/mm/yyyy", "mm/dd/yyyy"]),
    (["14/05/2026", "05/14/2026"], [], ["dd/mm/yyyy", "mm/dd/yyyy"]),
    (["03.05.2026"], [], ["dd.mm.yyyy", "mm.dd.yyyy"]),
    (["2026-05-03"], ["yyyy-mm-dd"], []),
    (["3 May 2026", "14 Mai 26"], ["d mmm yyyy"], []),
    (["May 3, 2026"], ["mmm d, yyyy"], []),
    (["14/05/26", "3 May 26", "3 May 26"], ["d mmm yyyy", "dd/mm/yyyy"], []),
    (["46145"], ["serial"], []),
    (["20260503"], ["yyyymmdd"], []),
    (["Thu 14/05/2026", "Fri. 15/05/2026"], ["ddd dd/mm/yyyy"], []),
    (["Mon 11/05/2026", "Tue 12/05/2026"], ["ddd dd/mm/yyyy"], []),
    (["11/05/2026", "12/05/2026", "Mon 11/05/2026"], ["ddd dd/mm/yyyy"], ["dd/mm/yyyy", "mm/dd/yyyy"]),
    (["Mi., 13.05.2026", "do. 14.05.2026"], ["ddd dd.mm.yyyy", "ddd, dd.mm.yyyy"], []),
    (["segunda-feira 11/05/2026"], ["ddd dd/mm/yyyy"], []),
    (["Xyz 14/05/2026"], [], []),
    (["6/12", "3/52", "2/7", "n/a", "1.5", "31/31/2026"], [], []),
]


@pytest.mark.parametrize(("cells", "formats", "asked"), CASES, ids=lambda c: " ".join(c) if isinstance(c, list) else c)
def test_formats_of_a_column(cells: list[str], formats: list[str], asked: list[str]) -> None:
    found = ways([Counter(cells)])
    assert (found.formats, found.open) == (formats, asked)


@given(
    st.lists(st.dates(date(1930, 1, 1), date(2026, 11, 25)), min_size=1, max_size=30),
    st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%Y-%m-%d", "%d-%m-%Y", "%d %b %Y", "%B %d, %Y"]),
)
@settings(max_examples=150)
def test_no_date_is_ever_read_as_another_day(days: list[date], written: str) -> None:
    """Oracle: strftime wrote them. Where the draft is sure of the format, reading gives the same days again."""
    found = ways([Counter(day.strftime(written) for day in days)])
    order_shows = written not in ("%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%d-%m-%Y") or any(d.day > 12 for d in days)
    assert bool(found.open) is not order_shows
    if not found.open:
        formats = [date_format(text) for text in found.formats]
        assert [parse_date(d.strftime(written), formats, None, False) for d in days] == [d.isoformat() for d in days]


@given(
    st.lists(st.dates(date(1930, 1, 1), date(2026, 11, 25)), min_size=1, max_size=8),
    st.sampled_from(["%a %d/%m/%Y", "%A, %m/%d/%Y", "%a. %d.%m.%Y"]),
)
@settings(max_examples=100)
def test_a_day_of_the_week_proves_the_order_or_it_is_asked(days: list[date], written: str) -> None:
    """Oracle: strftime. 01/01/2026 is the same day either way, and 03/08 and 08/03 can fall on one day of the week."""
    found = ways([Counter(day.strftime(written) for day in days)])
    assert bool(found.open) is not bool(found.formats)
    formats = [date_format(text) for text in found.formats]
    if formats:
        assert [parse_date(d.strftime(written), formats, None, False) for d in days] == [d.isoformat() for d in days]


@pytest.mark.parametrize(
    ("latest", "births", "first"),
    [
        (2026, ["14/02/41", "03/05/62"], "1929"),
        (2026, ["14/02/28"], "1928"),
        (2026, ["14/02/20"], ""),
        (2026, ["14/02/12"], "1929"),
        (0, ["14/02/41"], ""),
    ],
)
def test_the_century_of_two_digits_is_reckoned_from_the_visits_or_asked(
    latest: int, births: list[str], first: str
) -> None:
    assert first_year(latest, [Counter(births)])[0] == first


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("9:05", "HH:MM"),
        ("09.05", "HH.MM"),
        ("10h15", "HHhMM"),
        ("9h", "HHhMM"),
        ("9 h 30", "HH h MM"),
        ("10:15 Uhr", "HH:MM Uhr"),
        ("9:05 pm", "h:mm am/pm"),
        ("10:15:30", "HH:MM:SS"),
        ("25:00", ""),
        ("9", ""),
    ],
)
def test_times_of_day(text: str, form: str) -> None:
    assert clock(text) == form


def test_a_time_beside_a_date_is_told_apart() -> None:
    seen = read_date("14/05/2026 10:15")
    assert seen is not None
    assert (seen.format, seen.time) == ("?/?/yyyy", "10:15")
