"""An English clinic register: a visit in one row or two, formulas, percent cells, dates that lost their format."""
# ruff: noqa: E501 (a row of the sheet is one line)

from datetime import date

from tests.draft_files.workbook import Cell, Formula, Page, Percent, Serial

HEADINGS: list[Cell] = [
    "Ref", "Seen", "First", "Last", "Client", "Born", "Age", "Which ear", "Blocked by", "Type", "Drum 1st look",
    "Cleared with", "Tip", "Mins", "Left behind", "Drum 2nd look", "Upsets", "Happy to treat", "Dr may know",
    "Dr's surgery", "Next due", "Charge", "VAT",
]  # fmt: skip

TOLD = """\
C-201|2026-04-01|Joan|Pascoe|1947-05-12|R|0.9|hard|can't see|microsuction|18 Fr|7|0|normal|none|yes|yes|Orchard Surgery|182
C-201|2026-04-01|Joan|Pascoe|1947-05-12|L|0.2|soft|normal|||||||yes|yes|Orchard Surgery|182
C-202|2026-04-01|Magnus|Tierney|1960-08-01|Both|0.75|sticky|part seen|microsuction|2 mm|11|0|normal|coughing|yes|no|Orchard Surgery|365
C-203|2026-04-02|Phyllida|Knaggs|1952-02-29|R+L|1|rock hard|can't see|oil first|||1|can't see|none|yes|yes|St Brannoc Practice|14
C-204|2026-04-02|Joan|Pascoe|1971-10-03|L|0.5|crumbly|normal|ring probe||4|0|normal|none|yes|yes|Orchard Surgery|365
C-205|2026-04-07|Ephraim|Stroud|1935-03-21|R|0.8|hard|can't see|microsuction|20G|9|0.3|top half only, ok|sore, 6 of 10|yes|yes|#N/A|14
C-205|2026-04-07|Ephraim|Stroud|1935-03-21|L|0|-|old scar|||||||yes|yes|#N/A|14
C-206|2026-04-08|Tamsin|Ridout|1999-06-06|bilat|0.05|nothing much|normal|none||||||yes||St Brannoc Practice|
C-207|2026-04-08|Cuthbert|Yelland|circa 1940|L|0.6|cavity, moist|no drum|microsuction|18|15|0|cavity dry|dizzy 1 min|yes|yes|St Brannoc Practice|91
C-208|2026-04-09|Rosalind|Amery|1983-12-12|R|0.1|flaky|red canal, can't see|left alone|||0.1||very tender|yes|yes|Orchard Surgery|
C-209|2026-04-09|Ivor|Penhallow|2014-09-01|R|1|hard|can't see|microsuction|1.5mm|3|0.6|can't see|would not sit|mum|yes|Orchard Surgery|14
C-209|2026-04-09|Ivor|Penhallow|2014-09-01|L|1|hard|can't see|not tried|||1|can't see||mum|yes|Orchard Surgery|14
C-210|2026-04-13|Beatrix|Hollow|1958-01-17|?|0.4|soft|normal|irrigation||5|0|normal|none|yes|yes|St Brannoc Practice|365
C-211|2026-04-14|Gideon|Marsh|1944-11-05|R then L|0.85|hard R, soft L|can't see either|microsuction|16 Fr / 18 Fr|14|0|?perf R, L normal|bled R, stopped|yes|yes|Orchard Surgery|28
C-212|2026-04-15|Leonora|Vane|1966-07-30|L|0.7|soft|part seen|stopped at her wish|18 Fr|2|0.5|part seen|loud|yes, then no|no|Orchard Surgery|
C-213|2026-04-15|Wystan|Croft|1950-04-04|both|0.3|soft|normal|microsuction|18G|6|0|normal|none|yes|ask him|none|365
C-214|2026-04-16|Dorcas|Eames|1929-02-14|R||||||||||||Orchard Surgery|
"""
"""What was typed, cell by cell, without the columns that formulas fill; the last is the days until the next visit."""


def _row(at: int, told: str) -> list[Cell]:
    ref, seen, first, last, born, *ear, surgery, days = told.split("|")
    side, share, kind, drum, work, tip, minutes, left, after, upsets, treat, tell = ear
    day = date.fromisoformat(seen)
    due = Formula(f"B{at}+{days}", float(Serial(day).number + int(days))) if days else None
    age = _age(born, day)
    return [
        ref, Serial(day), first, last, Formula(f'C{at}&" "&D{at}', f"{first} {last}"), _date(born),
        Formula(f'DATEDIF(F{at},B{at},"Y")', age), side or None, _share(share), kind or None, drum or None,
        work or None, int(tip) if tip.isdecimal() else tip or None, int(minutes) if minutes else None, _share(left),
        after or None, upsets or None, treat or None, tell or None, Formula(f"VLOOKUP(A{at},Doctors!A:B,2,0)", surgery), due, 60,
        Formula(f"V{at}*0.2", 12.0),
    ]  # fmt: skip


def _date(text: str) -> date | str:
    return date.fromisoformat(text) if text[0].isdecimal() else text


def _age(born: str, seen: date) -> float | str:
    day = _date(born)
    if isinstance(day, str):
        return "#VALUE!"
    return float(seen.year - day.year - ((seen.month, seen.day) < (day.month, day.day)))


def _share(text: str) -> Percent | None:
    return Percent(float(text)) if text else None


LINES = TOLD.splitlines()
ROWS = [HEADINGS, *(_row(at, told) for at, told in enumerate(LINES, 2))]
SURGERIES = sorted({(told.split("|")[0], told.split("|")[-2]) for told in LINES})
DOCTORS: list[list[Cell]] = [["Ref", "Surgery"], *([ref, name] for ref, name in SURGERIES if name != "#N/A")]
PAGES = [Page("Register", ROWS), Page("Doctors", DOCTORS, hidden=True)]
