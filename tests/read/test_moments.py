"""Dates and times of cells. Oracle for offsets: zoneinfo through UTC; the clock changes of 2026 are published ones."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.layout.formats import clash, date_format, time_format
from bridge.read.fault import CellError
from bridge.read.moments import Time, moment, parse_date, parse_moment, parse_time
from bridge.visit.base import check_when
from tests.read.sheets import LONDON

WAYS = {
    "dd/mm/yyyy": "%d/%m/%Y", "yyyy-mm-dd": "%Y-%m-%d", "dd.mm.yyyy": "%d.%m.%Y", "mm/dd/yyyy": "%m/%d/%Y",
    "yyyymmdd": "%Y%m%d", "dd mmm yyyy": "%d %b %Y", "d mmmm yyyy": "%d %B %Y",
}  # fmt: skip


@given(day=st.dates(date(1000, 1, 1), date(2999, 12, 31)), way=st.sampled_from(sorted(WAYS)))
def test_dates_round_trip(day: date, way: str) -> None:
    assert parse_date(day.strftime(WAYS[way]), (date_format(way),), None, False) == day.isoformat()


@given(
    when=st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1)),
    zone=st.sampled_from(["Europe/London", "Asia/Kolkata", "America/St_Johns"]),
)
def test_a_moment_is_the_same_instant_or_refused(when: datetime, zone: str) -> None:
    when = when.replace(second=0, microsecond=0)
    try:
        text = moment(when.date().isoformat(), Time(when.strftime("%H:%M")), ZoneInfo(zone))
    except CellError:
        one, two = (when.replace(tzinfo=ZoneInfo(zone), fold=f).astimezone(UTC) for f in (0, 1))
        assert one != two
        return
    check_when(text)
    assert datetime.fromisoformat(text).astimezone(UTC) == when.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)


@pytest.mark.parametrize(
    ("day", "time", "wanted"),
    [
        ("2026-03-29", "00:59", "+00:00"), ("2026-03-29", "01:00", "R106"), ("2026-03-29", "01:59", "R106"),
        ("2026-03-29", "02:00", "+01:00"), ("2026-10-25", "00:59", "+01:00"), ("2026-10-25", "01:00", "R105"),
        ("2026-10-25", "01:59", "R105"), ("2026-10-25", "02:00", "+00:00"),
    ],
)  # fmt: skip
def test_the_hours_of_the_clock_change(day: str, time: str, wanted: str) -> None:
    if wanted.startswith("R"):
        with pytest.raises(CellError) as caught:
            moment(day, Time(time), LONDON)
        assert caught.value.fault.rule == wanted
    else:
        assert moment(day, Time(time), LONDON) == f"{day}T{time}{wanted}"


def test_minutes_stay_apart_from_seconds() -> None:
    ways = (time_format("HH:MM"), time_format("HH:MM:SS"))
    assert parse_time("9:05", ways).text == "09:05"
    assert parse_time("09:05:00", ways).text == "09:05:00"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("12:00 am", "00:00"), ("12:15 PM", "12:15"), ("1:05 pm", "13:05"), ("11:59 p.m.", "23:59"), ("9:30am", "09:30")],
)
def test_halves_of_the_day(text: str, wanted: str) -> None:
    assert parse_time(text, (time_format("h:mm am/pm"),)).text == wanted


@pytest.mark.parametrize(
    ("way", "text", "wanted"),
    [
        ("HHhMM", "10h15", "10:15"),
        ("HHhMM", "9H05", "09:05"),
        ("HHhMM", "9h", "09:00"),
        ("HH h MM", "9 h 30", "09:30"),
        ("HH:MM Uhr", "10:15 Uhr", "10:15"),
    ],
)
def test_an_h_between_hours_and_minutes(way: str, text: str, wanted: str) -> None:
    assert parse_time(text, (time_format(way),)).text == wanted


@pytest.mark.parametrize("text", ["9h5", "h15", "9:15", "9", "25h00", "9h60"])
def test_an_h_makes_no_time_of_anything_else(text: str) -> None:
    with pytest.raises(CellError):
        parse_time(text, (time_format("HHhMM"),))


@pytest.mark.parametrize(
    "text", ["Thu 14/05/2026", "thursday, 14/05/2026", "Do. 14/05/2026", "jeu. 14/05/26", "czw 14/05/2026"]
)
def test_a_day_of_the_week_in_front(text: str) -> None:
    assert parse_date(text, (date_format("ddd dd/mm/yyyy"),), 1930, False) == "2026-05-14"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("Mon 14/05/2026", "R104"), ("Xyz 14/05/2026", "R102"), ("14/05/2026", "R102"), ("Thu 31/04/2026", "R104")],
)
def test_a_day_of_the_week_that_does_not_fit(text: str, wanted: str) -> None:
    with pytest.raises(CellError) as caught:
        parse_date(text, (date_format("ddd dd/mm/yyyy"),), None, False)
    assert caught.value.fault.rule == wanted


@pytest.mark.parametrize("text", ["13:00 pm", "0:30 am", "24:00", "12:60"])
def test_times_that_do_not_exist(text: str) -> None:
    with pytest.raises(CellError) as caught:
        parse_time(text, (time_format("h:mm am/pm"), time_format("HH:MM")))
    assert caught.value.fault.rule == "R104"


def test_two_digits_of_a_year_mean_what_the_layout_says() -> None:
    ways = (date_format("dd/mm/yyyy"),)
    assert parse_date("3/5/49", ways, 1950, False) == "2049-05-03"
    assert parse_date("3/5/50", ways, 1950, False) == "1950-05-03"
    assert parse_date("3/5/1949", ways, 1950, False) == "1949-05-03"


def test_partial_dates_where_the_field_takes_them() -> None:
    ways = (date_format("dd/mm/yyyy"), date_format("d mmm yyyy"))
    assert parse_date("05/2010", ways, None, True) == "2010-05"
    assert parse_date("May 2010", ways, None, True) == "2010-05"
    assert parse_date("2010", ways, None, True) == "2010"
    for text in ("05/2010", "2010", "13/2010"):
        with pytest.raises(CellError):
            parse_date(text, ways, None, False)


def test_a_spreadsheet_s_midnight_is_no_time() -> None:
    assert parse_date("2026-03-01 00:00:00", (date_format("yyyy-mm-dd"),), None, False) == "2026-03-01"


def test_date_and_time_in_one_cell() -> None:
    ways, times = (date_format("dd/mm/yyyy"),), (time_format("HH:MM"),)
    assert parse_moment("01/03/2026 10:15", ways, times, None) == ("2026-03-01", Time("10:15"))
    assert parse_moment("01/03/2026", ways, times, None) == ("2026-03-01", None)
    with pytest.raises(CellError):
        parse_moment("01/03/2026 soon", ways, times, None)


@pytest.mark.parametrize("text", ["", "dd/mm", "yyyy/yyyy", "dd/yyyy", "hello"])
def test_formats_that_are_none(text: str) -> None:
    with pytest.raises(ValueError, match=r"need|without"):
        date_format(text)


def test_formats_that_clash() -> None:
    def two(a: str, b: str) -> bool:
        return clash((date_format(a), date_format(b))) is not None

    assert two("dd/mm/yyyy", "mm/dd/yyyy")
    assert two("d/m/yyyy", "mm/dd/yyyy")
    assert not two("dd/mm/yyyy", "dd.mm.yyyy")
    assert not two("dd/mm/yyyy", "yyyy-mm-dd")
    assert not two("dd mmm yyyy", "mmm dd yyyy")
