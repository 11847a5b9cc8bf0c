"""Number formats: what a stored number is shown as. Values by hand; dates by datetime and by the published epochs."""

from __future__ import annotations

import datetime as dt

import pytest
from openpyxl.styles.numbers import is_date_format
from openpyxl.utils.datetime import from_excel

from bridge.read.xlsx.formats import built_in, shown_by
from bridge.read.xlsx.values import plain_number, shown_text

CASES = [
    ("0%", "0.8", "80%"), ("0%", "0.57", "57%"), ("0.0%", "0.805", "80.5%"), ("0%", "1", "100%"),
    ("dd/mm/yyyy", "46145", "2026-05-03"), ("d.m.yyyy", "46145.4270833333", "2026-05-03"),
    ("dd/mm/yyyy hh:mm", "46145.4270833333", "2026-05-03 10:15"), ("yyyy-mm-dd h:mm", "46145", "2026-05-03"),
    ("m/d/yy h:mm:ss", "46145.42710648148", "2026-05-03 10:15:02"), ("h:mm", "0.4270833333", "10:15"),
    ("h:mm", "46145.4270833333", "10:15"), ("hh:mm:ss", "0.42710648148", "10:15:02"), ("h:mm AM/PM", "0.5", "12:00"),
    ("[h]:mm", "1.0625", "25:30"), ("[mm]:ss", "0.0104282407", "0:15:01"), ("mm:ss", "0.0104166667", "0:15"),
    ("mmm-yy", "46143", "2026-05"), ("mmm-yy", "46145", "2026-05-03"), ("yyyy", "46023", "2026"),
    ("yyyy", "46143", "2026-05"), ("d-mmm", "46145", "2026-05-03"),
    ('[$-407]d". "mmmm yyyy', "46145", "2026-05-03"), ('"Tag "dd/mm/yyyy;@', "46145", "2026-05-03"),
    ("0", "18.0", "18"), ("0.00", "2.5", "2.5"), ("General", "0.30000000000000004", "0.3"), ("#,##0", "1200", "1200"),
    ('0" mm"', "12", "12 mm"), ('0.0\\ "kPa"', "16.5", "16.5 kPa"), ("[$£-809]#,##0.00", "60", "£60"),
    ("General\\ \\m\\m", "3", "3 mm"), ("0000000000", "7700900", "0007700900"),
    ("000\\ 000\\ 0000", "9990000018", "999 000 0018"), ('"R"000', "7", "R007"), ("@", "5", "5"),
    ('"yes";;"no"', "1", "yes"), ('"yes";;"no"', "0", "no"), ("0;-0;;@", "0", "0"), ('0,"k"', "12000", "12000"),
    ("0.00E+00", "120", "120"), ("# ?/?", "0.5", "0.5"), ('0" mm"', "-3", "-3 mm"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "stored", "wanted"), CASES)
def test_a_number_is_told_as_it_is_shown(code: str, stored: str, wanted: str) -> None:
    shown = shown_by(code)
    assert shown_text(stored, shown, 1900) == (wanted, None)


@pytest.mark.parametrize("code", [*built_in().values(), *(case[0] for case in CASES)])
def test_what_is_a_date_agrees_with_openpyxl(code: str) -> None:
    """Oracle: openpyxl's own rule, by which times and durations are dates too."""
    ours = shown_by(code).kind in ("date", "moment", "time", "duration")
    assert ours == is_date_format(code)


@pytest.mark.parametrize("epoch", [1900, 1904])
@pytest.mark.parametrize("days", [1, 2, 59, 61, 366, 40000, 46145, 2958465 - 1500])
def test_days_of_both_systems(days: int, epoch: int) -> None:
    """Oracle: openpyxl, where the two calendars of 1900 agree; ECMA-376 Part 1 18.17.4.1 for the days before March."""
    first = dt.datetime(1899, 12, 30) if epoch == 1900 else dt.datetime(1904, 1, 1)
    wanted = from_excel(days, first) if days > 60 or epoch == 1904 else dt.datetime(1899, 12, 31) + dt.timedelta(days)
    assert shown_text(str(days), shown_by("yyyy-mm-dd"), epoch) == (wanted.date().isoformat(), None)


@pytest.mark.parametrize("stored", ["0", "60", "-1", "0.5", "2958466", "99999999"])
def test_a_day_that_no_calendar_has_is_an_error(stored: str) -> None:
    text, fault = shown_text(stored, shown_by("dd/mm/yyyy"), 1900)
    assert fault is not None
    assert (fault.rule, text) == ("R145", stored)


@pytest.mark.parametrize(
    ("stored", "wanted"),
    [
        ("1", "1"), ("1.0", "1"), ("-0", "0"), ("007", "7"), ("1E3", "1000"), ("1E-3", "0.001"),
        ("123456789012", "123456789012"),
        ("9.9900000180000000E9", "9990000018"), ("1e20", "100000000000000000000"), ("1e400", "1e400"), ("nan", "nan"),
        ("abc", "abc"), ("0.1", "0.1"), ("1.50", "1.5"),
    ],
)  # fmt: skip
def test_numbers_are_told_in_their_shortest_form(stored: str, wanted: str) -> None:
    assert plain_number(stored) == wanted


@pytest.mark.parametrize("stored", ["1e39", "1e999", "-1e300", "1e-400", "9" * 400, "", "NaN", "Infinity"])
@pytest.mark.parametrize("code", ["0%", "dd/mm/yyyy", "h:mm", "[h]:mm", '0" mm"', "000\\ 000", "dd/mm/yyyy hh:mm"])
def test_numbers_without_measure_do_no_harm(stored: str, code: str) -> None:
    text, _ = shown_text(stored, shown_by(code), 1900)
    assert len(text) < 1000
