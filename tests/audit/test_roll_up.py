"""Figures of many clinics as text, JSON and CSV."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from io import StringIO

import pytest

from bridge.audit.report.lines import write_lines
from bridge.audit.roll_up import added
from bridge.audit.roll_up.as_data import to_csv, to_json
from bridge.audit.roll_up.as_text import summary
from bridge.audit.roll_up.words import first_to_see, title
from tests.audit.hand_made import SCT, group
from tests.audit.roll_ups import EXPECTED, clinics, rolled_up, sent, small


def text(**how: bool) -> str:
    page = StringIO()
    write_lines(summary(rolled_up(), **how), page, False)
    return page.getvalue()


@pytest.mark.parametrize("verbose", [False, True])
def test_the_text_fits_80_columns(verbose: bool) -> None:
    lines = text(verbose=verbose).splitlines()
    assert max(map(len, lines)) <= 80
    assert all(line.isprintable() for line in lines)


def test_who_is_missing_stands_at_the_top() -> None:
    told = text()
    head = " ".join(told.split("\n\n")[1].split())
    assert head.endswith(" 1 clinic that was expected sent nothing that counts.")
    before = told.partition("All clinics together")[0]
    for name in (
        "Gone Clinic",
        "Twice sent several",
        "Little Clinic tells of",
        "maps of 2026-10",
    ):
        assert name in before


def test_sums_stand_with_both_ends_where_counts_were_withheld() -> None:
    """Oracle: 3 and 3 and 0 retired codes, of which the threes are withheld as 1 to 4."""
    told = text()
    line = next(line for line in told.splitlines() if "retired" in line)
    assert line.split("  ")[-1].strip() == "2 to 8 of 23,006"
    coded = next(line for line in told.splitlines() if line.startswith("  Have a code"))
    assert coded.split()[-3:] == ["23,006", "of", "25,378"]


def test_clinics_stand_side_by_side_and_kappa_is_not_added() -> None:
    told = text()
    assert re.search("Millbrook Ear Care +1,240 +48.5 % +91.1 %", told)
    assert "Kappa and alpha are not added" in told
    assert told.count("kappa 0.71") == 2


def test_words_that_clinics_code_differently_come_first() -> None:
    terms = rolled_up().terms
    assert [(term.text, term.between, term.clinics) for term in terms] == [("wax ++", True, 3)]
    assert terms[0].codes == ((SCT, "18070006", 480), (SCT, "298007001", 370))


def test_json_holds_every_clinic_and_what_is_missing() -> None:
    data = json.loads(json.dumps(to_json(rolled_up())))
    assert [one["key"] for one in data["clinics"]] == ["k2", "k3", "k1"]
    assert data["missing"] == [{"key": "k9", "name": "Gone Clinic"}]
    assert data["rates"]["retired"] == {
        "low": 2, "high": 8, "of": 23006, "clinics": 3, "without": 0, "share_low": 2 / 23006, "share_high": 8 / 23006,
    }  # fmt: skip
    assert data["rates"]["coded"]["share_low"] == data["rates"]["coded"]["share_high"] == 23006 / 25378
    assert sorted({one["rule"] for one in data["issues"]}) == ["A262", "A263", "A264", "A265"]


def test_csv_has_each_clinic_and_rate_and_the_sums() -> None:
    rows = list(csv.DictReader(StringIO(to_csv(rolled_up()))))
    assert len(rows) == 4 * 7
    alone = next(row for row in rows if row["key"] == "k3" and row["rate"] == "sided")
    assert (alone["count"], alone["withheld"]) == ("", "nearly all")
    together = next(row for row in rows if row["clinic"] == "all" and row["rate"] == "conflicts")
    assert (together["count"], int(together["count_high"]) - int(together["count_low"])) == ("", 3)


def test_the_order_of_files_changes_nothing() -> None:
    given = clinics()
    assert to_json(added(given, EXPECTED))["rates"] == to_json(added(given[::-1], EXPECTED))["rates"]
    assert to_csv(added(given, EXPECTED)) == to_csv(added(given[::-1], EXPECTED))


def test_a_clinic_weighs_as_much_as_it_has_things() -> None:
    weights = rolled_up().weights
    assert weights == {"k1": 12304 / 25378, "k2": 12304 / 25378, "k3": 770 / 25378}


def test_the_heading_names_the_months_of_all_records_that_are_counted() -> None:
    months = (group("2026-02", 40, 300, 380), group("2026-05", 40, 300, 390))
    late = replace(small(), first_month="2026-02", last_month="2026-05", months=months)
    result = added([sent("k1", "Millbrook Ear Care", small()), sent("k2", "Alder Hearing", late)])
    assert title(result).endswith("January 2026 to May 2026")
    assert [issue.rule for issue in result.issues].count("A264") == 1


def test_no_figures_at_all_is_told() -> None:
    page = StringIO()
    write_lines(summary(added([], EXPECTED)), page, False)
    assert "No figures that could be counted were sent." in page.getvalue()
    assert page.getvalue().count("A263") == 4


def test_a_key_on_the_list_goes_before_a_name() -> None:
    from bridge.audit.roll_up import Expected

    listed = [Expected("other key", "Millbrook Ear Care")]
    assert [one.called for one in added([sent("k1", "Millbrook Ear Care", small())], listed).missing] == [
        "Millbrook Ear Care"
    ]


def test_of_many_clinics_those_with_most_to_mend_are_shown() -> None:
    given = [sent(f"k{n}", f"Clinic {n:02}") for n in range(14)]
    result = added([*given, sent("low", "Low Clinic", small())])
    page = StringIO()
    write_lines(summary(result), page, False)
    told = page.getvalue()
    assert "Low Clinic" in told
    assert "--verbose tells all 15" in told
    assert len(re.findall(r"^  (?:Clinic \d\d|Low Clinic) +[\d,]+ ", told, re.MULTILINE)) == 12
    assert [one.name for one in first_to_see(result, "text-only", 1)] == ["Low Clinic"]
    assert [one.name for one in first_to_see(result, "coded", 1)] == ["Low Clinic"]
