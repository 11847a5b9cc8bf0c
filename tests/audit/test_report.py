"""The audit as text, JSON, CSV and figures of its own, from results written by hand."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from io import StringIO
from itertools import pairwise

import jsonschema_rs
import pytest

from bridge.audit.report.as_csv import to_csv
from bridge.audit.report.as_json import to_json
from bridge.audit.report.as_text import failing, summary
from bridge.audit.report.charts import NARROW, Point, line
from bridge.audit.report.chosen import changes
from bridge.audit.report.lines import wrapped, write_lines
from bridge.audit.report.words import headline, month, percent, period, short_month
from bridge.audit.shapes import Agreement, Audited, Rate
from bridge.data import table_path
from bridge.issues import Issue, Severity
from tests.audit.hand_made import HOSTILE, audited, group


def text(given: Audited, *, colour: bool = False, **how: bool) -> str:
    page = StringIO()
    write_lines(summary(given, **how), page, colour)
    return page.getvalue()


@pytest.mark.parametrize("verbose", [False, True])
def test_the_text_fits_80_columns_and_one_minute(verbose: bool) -> None:
    lines = text(audited(), verbose=verbose).splitlines()
    assert max(map(len, lines)) <= 80
    assert len(lines) < (60 if not verbose else 140)
    assert all(line.isprintable() for line in lines)


def test_the_text_begins_with_what_matters() -> None:
    first = text(audited()).split("\n\n")
    assert first[0] == "Coding audit: 1,240 records, January 2026 to May 2026"
    assert " ".join(first[1].split()) == (
        "91.1 % of what needs a code has one, and the same words get the same code 97.2 % of the time. "
        "6 patterns of inconsistency were found, 2 of them errors."
    )


def test_the_severest_pattern_stands_first_and_says_what_to_do() -> None:
    told = text(audited())
    order = [told.index(f" {one} ") for one in ("I13", "I02", "I15", "I28", "I23")]
    assert order == sorted(order)
    assert " I07 " not in told
    assert "1 more pattern" in told
    assert "To do: Ask whoever saw the client." in told
    assert "visits-2026.csv, row 2" in told
    assert "visit-bridge explain A113" in told


def test_a_change_is_told_with_both_figures() -> None:
    told = " ".join(text(audited()).split())
    assert (
        "Have a code: 77.6 % in April 2026 (of 3,130), 95.6 % in January 2026 to March 2026 (of 9,150); worse." in told
    )
    assert "In words only: 22.4" not in told


def test_small_moves_and_small_months_are_no_change() -> None:
    steady = (group("2026-01", 60, 900, 1000), group("2026-02", 60, 930, 1000))
    assert changes(steady) == []
    few = (group("2026-01", 60, 900, 1000), group("2026-02", 4, 10, 100))
    assert changes(few) == []
    better = changes((group("2026-01", 60, 700, 1000), group("2026-02", 60, 900, 1000)))
    assert [(one.measure.key, one.better) for one in better] == [("coded", True)]


def test_a_month_that_stands_apart_is_told_where_the_last_is_as_ever() -> None:
    months = tuple(group(f"2026-{n:02}", 60, 500 if n == 3 else 900, 1000) for n in range(1, 7))
    (change,) = changes(months)
    assert (change.measure.key, change.month, change.first, change.better) == ("coded", "2026-03", "", False)
    held = audited()
    held.months = months
    told = " ".join(text(held).split())
    assert "Have a code: 50.0 % in March 2026 (of 1,000), 90.0 % in all other months (of 5,000); worse." in told


def test_what_chance_can_do_is_no_change() -> None:
    """40 and 36 of 50: eight points, and Wilson's intervals (67 to 89 and 58 to 83 percent) lie over each other."""
    assert changes((group("2026-01", 20, 40, 50), group("2026-02", 20, 36, 50))) == []
    assert len(changes((group("2026-01", 20, 4000, 5000), group("2026-02", 20, 3600, 5000)))) == 1


def test_what_moved_together_with_nothing_else_is_told_of_words_too() -> None:
    """Words without a code that rise while the coded stay as they are: things coded by hand, and not the same news."""
    months = (group("2026-01", 60, 900, 1000, 10), group("2026-02", 60, 900, 1000, 90))
    assert [one.measure.key for one in changes(months)] == ["text-only"]


def test_without_records_it_says_so() -> None:
    told = text(Audited())
    assert "No record was found to look at." in told
    assert "%" not in told


def test_nothing_to_count_is_neither_0_nor_100_percent() -> None:
    told = text(Audited(records=7))
    assert "Have a code                                 -  no things" in told
    assert "100.0 %" not in told
    assert "0.0 %" not in told


@pytest.mark.parametrize(
    ("share", "said"),
    [(1.0, "100.0 %"), (0.9999, "99.9 %"), (0.0, "0.0 %"), (0.0001, "under 0.1 %"), (None, "-"), (0.9105, "91.0 %")],
)
def test_a_share_is_whole_or_nothing_only_where_it_is(share: float | None, said: str) -> None:
    assert percent(share) == said


@pytest.mark.parametrize(("name", "said"), [("2026-05", "May 2026"), ("2026-13", "2026-13"), ("", ""), ("x", "x")])
def test_a_month(name: str, said: str) -> None:
    assert month(name) == said


def test_a_period() -> None:
    assert period("2026-01", "2026-01") == "January 2026"
    assert period("", "") == "of no known month"


def test_small_groups_are_not_told_unless_asked_for() -> None:
    told = text(audited(), verbose=True)
    line = next(line for line in told.splitlines() if line.startswith("  May 2026"))
    assert line.split()[2:] == ["under", "5"]
    shown = text(audited(), verbose=True, show_small=True)
    assert next(line for line in shown.splitlines() if line.startswith("  May 2026")).split()[2:4] == ["3", "95.8"]
    assert "do not judge the work of a person" in " ".join(told.split())


def test_what_cannot_be_shown_is_never_called_absent() -> None:
    told = " ".join(text(audited(), verbose=True).split())
    absent = told.partition("Looked for and not found")[2].partition("Cannot be seen")[0]
    assert "I31" in absent
    assert "I26" not in absent
    assert "I26 Display does not match its code: records hold words and no displays" in told


def test_kappa_never_stands_without_the_percentage() -> None:
    told = text(audited())
    line = next(line for line in told.splitlines() if "Practitioners agree" in line)
    assert "84.3 %" in line
    assert "kappa 0.71, substantial" in told
    assert "Codes that a word list gave always agree" in told, "what a kappa is not"
    undefined = replace(audited().agreement[0], kappa=None, alpha=None)
    assert "kappa" not in text(replace(audited(), agreement=(undefined,)))


def test_colour_is_only_where_it_is_asked_for() -> None:
    assert "\x1b" not in text(audited())
    coloured = text(audited(), colour=True)
    assert "\x1b[1;31m" in coloured
    for code in ("\x1b[1;31m", "\x1b[1;33m", "\x1b[1;36m", "\x1b[1m", "\x1b[2m", "\x1b[0m"):
        coloured = coloured.replace(code, "")
    assert coloured == text(audited())


def test_words_of_records_cannot_move_the_cursor_or_turn_the_line() -> None:
    for told in (text(audited(), verbose=True), to_csv(audited())):
        assert "\x1b" not in told
        assert "\u202e" not in told


def test_failing_tells_only_what_is_bad_enough() -> None:
    page = StringIO()
    write_lines(failing(audited(), Severity.error), page, False)
    told = page.getvalue()
    assert "I13" in told
    assert "I02" in told
    assert "I15" not in told
    assert "A150" not in told


def test_json_has_its_documented_shape() -> None:
    schema = json.loads(table_path("schemas", "audit.schema.json").read_text(encoding="utf-8"))
    for given in (audited(), Audited()):
        data = json.loads(json.dumps(to_json(given)))
        jsonschema_rs.validate(schema, data)
    data = to_json(audited())
    assert data["rates"]["coded"] == {"count": 11203, "of": 12304, "share": 11203 / 12304}
    few = next(one for one in data["practitioners"] if one["name"] == HOSTILE)
    assert few == {"name": HOSTILE, "records": None, "few": True, "rates": dict.fromkeys(few["rates"])}
    assert to_json(audited(), show_small=True)["practitioners"][2]["rates"]["coded"]["count"] == 3


def test_csv_has_a_row_for_each_place_and_runs_nothing() -> None:
    given = audited()
    rows = list(csv.DictReader(StringIO(to_csv(given))))
    evidence = [one for pattern in given.patterns if pattern.records.count for one in pattern.evidence]
    words = [word for suggestion in given.suggestions for word in suggestion.words]
    assert len(rows) == len(evidence) + len(words) + len(given.issues)
    assert rows[0]["pattern"] == "I13"
    assert rows[0]["record"] == "M26-0002"
    assert rows[0]["row"] == "2"
    assert [one["rule"] for one in rows].count("A150") == 1
    cells = [cell for row in rows for cell in row.values()]
    assert any(HOSTILE[:5] in cell for cell in cells)
    assert [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r"))] == []


def test_a_headline_tells_errors_from_the_rest() -> None:
    calm = replace(audited(), patterns=tuple(one for one in audited().patterns if one.severity < Severity.error))
    assert headline(calm).endswith("4 patterns of inconsistency were found, none of them an error.")
    clean = replace(audited(), patterns=())
    assert headline(clean).endswith("No pattern of inconsistency that these data can show was found.")
    single = replace(audited(), patterns=audited().patterns[:1])
    assert headline(single).endswith("1 pattern of inconsistency was found, 1 of them an error.")
    assert headline(Audited(records=3)).startswith("Nothing in them needs a code")


def test_issues_of_sources_stand_before_the_rates() -> None:
    given = audited()
    given.issues = [Issue("A250", "The rate coded is low.", severity=Severity.error, help="Mend it.")]
    told = text(given)
    assert told.index("A250") < told.index("Rates")
    assert (
        text(replace(given, agreement=(Agreement(("A", "B"), 0, None, None, None),))).count("Practitioners agree") == 1
    )


def test_a_rate_of_nothing_has_no_share() -> None:
    assert Rate(0, 0).share is None


def test_large_counts_fit_the_line_too() -> None:
    huge = replace(audited(), sided=Rate(10**9 - 7, 10**9), unspecific=Rate(10**8, 10**9))
    lines = text(huge).splitlines()
    assert max(map(len, lines)) <= 80
    assert any(line.endswith("999,999,993 of 1,000,000,000") for line in lines)
    assert any(line.endswith("11,203 of 12,304 things") for line in lines)


def test_a_number_and_its_percent_sign_stay_on_one_line() -> None:
    for length in range(60, 80):
        lines = [line.text for line in wrapped(f"{'x' * length} 100.0 % of the time, {'y' * 60} 5 % more")]
        assert not [line for line in lines if line.lstrip().startswith("%")]
        assert " ".join(lines).count(" %") == 2


WIDE = 7.0
"""No letter of the charts' type is wider on average, at 13 px."""


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 24, 25, 40, 120])
@pytest.mark.parametrize("share", [0.0004, 0.5, 1.0, None])
def test_words_below_a_line_never_touch(count: int, share: float | None) -> None:
    points = [Point(short_month(f"{2020 + at // 12}-{at % 12 + 1:02d}"), share) for at in range(count)]
    drawn = line("k", "t", "a", points)
    words = re.findall(r'<text text-anchor="(\w+)" x="([\d.]+)" y="(\d+)">([^<]+)</text>', drawn)
    rows: dict[str, list[tuple[float, float]]] = {}
    for anchor, x, y, word in words:
        wide = WIDE * len(word)
        left = float(x) - {"start": 0, "middle": wide / 2, "end": wide}[anchor]
        rows.setdefault(y, []).append((left, left + wide))
    assert len(rows) == 2
    for places in rows.values():
        assert len(places) >= (3 if count in (3, 5, 7, 9, 11, 13, 25) else 2)
        assert places == sorted(places)
        assert all(one[1] < other[0] for one, other in pairwise(places))
        assert places[0][0] >= 0
        assert places[-1][1] <= NARROW


def test_what_is_to_be_done_stands_first_and_notes_stand_last() -> None:
    note = Issue("A193", "3 documents left out.", help="Nothing. Name them alone.", severity=Severity.information)
    given = replace(audited(), issues=[note, *audited().issues])
    told = " ".join(text(given).split())
    assert told.index("First of all") < told.index("A150") < told.index("Rates") < told.index("Notes")
    assert told.index("Where to look next") < told.index("A193 3 documents left out.")
    assert "Nothing." not in told
    assert "To do: Nothing. Name them alone." in " ".join(text(given, verbose=True).split())
    assert "First of all" not in text(replace(audited(), issues=[note]))
    assert "Notes" in text(Audited(issues=[note]))
