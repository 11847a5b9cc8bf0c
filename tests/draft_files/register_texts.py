"""An English clinic register: one row for both ears or one for each, as it came; formulas, percent cells, lost date formats."""

from datetime import date

from tests.draft_files.workbook import Cell, Formula, Page, Percent, Serial

HEADINGS: list[Cell] = [
    "Ref", "Seen", "First", "Last", "Client", "Born", "Age", "Which ear", "Blocked by", "Type", "Drum 1st look", "Cleared with",
    "Tip", "Mins", "Left behind", "Drum 2nd look", "Upsets", "Happy to treat", "Dr may know", "Dr's surgery", "Next due",
    "Charge", "VAT",
]  # fmt: skip

Row = tuple[str, date, str, str, date | str, str, float | None, str | None, str | None, str | None, str | float | None,
            int | None, float | None, str | None, str | None, str | None, str | None, str, int | None]  # fmt: skip

TOLD: list[Row] = [
    ("C-201", date(2026, 4, 1), "Joan", "Pascoe", date(1947, 5, 12), "R", 0.9, "hard", "can't see", "microsuction", "18 Fr", 7,
     0, "normal", "none", "yes", "yes", "Orchard Surgery", 182),
    ("C-201", date(2026, 4, 1), "Joan", "Pascoe", date(1947, 5, 12), "L", 0.2, "soft", "normal", None, None, None,
     None, None, None, "yes", "yes", "Orchard Surgery", 182),
    ("C-202", date(2026, 4, 1), "Magnus", "Tierney", date(1960, 8, 1), "Both", 0.75, "sticky", "part seen", "microsuction", "2 mm", 11,
     0, "normal", "coughing", "yes", "no", "Orchard Surgery", 365),
    ("C-203", date(2026, 4, 2), "Phyllida", "Knaggs", date(1952, 2, 29), "R+L", 1, "rock hard", "can't see", "oil first", None, None,
     1, "can't see", "none", "yes", "yes", "St Brannoc Practice", 14),
    ("C-204", date(2026, 4, 2), "Joan", "Pascoe", date(1971, 10, 3), "L", 0.5, "crumbly", "normal", "ring probe", None, 4,
     0, "normal", "none", "yes", "yes", "Orchard Surgery", 365),
    ("C-205", date(2026, 4, 7), "Ephraim", "Stroud", date(1935, 3, 21), "R", 0.8, "hard", "can't see", "microsuction", "20G", 9,
     0.3, "top half only, ok", "sore, 6 of 10", "yes", "yes", "#N/A", 14),
    ("C-205", date(2026, 4, 7), "Ephraim", "Stroud", date(1935, 3, 21), "L", 0, "-", "old scar", None, None, None,
     None, None, None, "yes", "yes", "#N/A", 14),
    ("C-206", date(2026, 4, 8), "Tamsin", "Ridout", date(1999, 6, 6), "bilat", 0.05, "nothing much", "normal", "none", None, None,
     None, None, None, "yes", "", "St Brannoc Practice", None),
    ("C-207", date(2026, 4, 8), "Cuthbert", "Yelland", "circa 1940", "L", 0.6, "cavity, moist", "no drum", "microsuction", 18, 15,
     0, "cavity dry", "dizzy 1 min", "yes", "yes", "St Brannoc Practice", 91),
    ("C-208", date(2026, 4, 9), "Rosalind", "Amery", date(1983, 12, 12), "R", 0.1, "flaky", "red canal, can't see", "left alone", None, None,
     0.1, None, "very tender", "yes", "yes", "Orchard Surgery", None),
    ("C-209", date(2026, 4, 9), "Ivor", "Penhallow", date(2014, 9, 1), "R", 1, "hard", "can't see", "microsuction", "1.5mm", 3,
     0.6, "can't see", "would not sit", "mum", "yes", "Orchard Surgery", 14),
    ("C-209", date(2026, 4, 9), "Ivor", "Penhallow", date(2014, 9, 1), "L", 1, "hard", "can't see", "not tried", None, None,
     1, "can't see", None, "mum", "yes", "Orchard Surgery", 14),
    ("C-210", date(2026, 4, 13), "Beatrix", "Hollow", date(1958, 1, 17), "?", 0.4, "soft", "normal", "irrigation", None, 5,
     0, "normal", "none", "yes", "yes", "St Brannoc Practice", 365),
    ("C-211", date(2026, 4, 14), "Gideon", "Marsh", date(1944, 11, 5), "R then L", 0.85, "hard R, soft L", "can't see either", "microsuction",
     "16 Fr / 18 Fr", 14, 0, "?perf R, L normal", "bled R, stopped", "yes", "yes", "Orchard Surgery", 28),
    ("C-212", date(2026, 4, 15), "Leonora", "Vane", date(1966, 7, 30), "L", 0.7, "soft", "part seen", "stopped at her wish", "18 Fr", 2,
     0.5, "part seen", "loud", "yes, then no", "no", "Orchard Surgery", None),
    ("C-213", date(2026, 4, 15), "Wystan", "Croft", date(1950, 4, 4), "both", 0.3, "soft", "normal", "microsuction", "18G", 6,
     0, "normal", "none", "yes", "ask him", "none", 365),
    ("C-214", date(2026, 4, 16), "Dorcas", "Eames", date(1929, 2, 14), "R", None, None, None, None, None, None,
     None, None, None, None, None, "Orchard Surgery", None),
]  # fmt: skip


def _row(at: int, told: Row) -> list[Cell]:
    ref, seen, first, last, born, side, share, kind, drum, work, tip, minutes, left, after, upsets, treat, share_gp, gp, due = told
    age = Formula(f'DATEDIF(F{at},B{at},"Y")', "#VALUE!" if isinstance(born, str) else float(_age(born, seen)))
    due_cell: Cell = None
    if due is not None:
        due_cell = Formula(f"B{at}+{due}", float((seen - date(1899, 12, 30)).days + due))
    return [
        ref, Serial(seen), first, last, Formula(f'C{at}&" "&D{at}', f"{first} {last}"), born, age, side,
        None if share is None else Percent(share), kind, drum, work, tip, minutes, None if left is None else Percent(left),
        after, upsets, treat, share_gp or None, Formula(f"VLOOKUP(A{at},Doctors!A:B,2,0)", gp), due_cell, 60,
        Formula(f"V{at}*0.2", 12.0),
    ]  # fmt: skip


def _age(born: date, seen: date) -> int:
    return seen.year - born.year - ((seen.month, seen.day) < (born.month, born.day))


ROWS = [HEADINGS, *(_row(at, told) for at, told in enumerate(TOLD, 2))]
DOCTORS: list[list[Cell]] = [["Ref", "Surgery"]] + [
    [ref, gp] for ref, gp in sorted({(told[0], told[17]) for told in TOLD}) if gp != "#N/A"
]
PAGES = [Page("Register", ROWS), Page("Doctors", DOCTORS, hidden=True)]
