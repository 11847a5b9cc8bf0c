"""Visits of a sheet with one row for each visit; faults are put into some of the rows."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from random import Random

from tests.audit.seeder.people import name, nhs_number, wrong_number

Row = dict[str, str]
WHOLE = (
    "Visit no|Date|Time|End|Seen by|Place|Client no|Surname|First name|Date of birth|Sex|NHS number|NHS status|Address|"
    "Town|Postcode|Phone|GP practice|Reason|Cautions|Allergies|Medicines|Softener before|Consent to treat|"
    "Consent to share|Why not shared"
)
EAR = (
    "symptoms|past events|hearing aid|before view|view reason|wax|wax %|wax type|wax colour|wax depth|contents|canal|"
    "drum|method|instrument|tube|suction mmHg|outcome|reason|events|pain|tolerance|after view|after wax|after wax %|"
    "after canal|after drum|hearing change|ear note"
)
LAST = "Impression|Advice|Follow-up|GP action|Notes|Written up"
HEADINGS = [*WHOLE.split("|"), *(f"{ear} {column}" for ear in "RL" for column in EAR.split("|")), *LAST.split("|")]
UNKNOWN = ("zorvid", "quemblish", "plinnock", "drabfen", "vuttering", "scrommed", "wexling", "hobnicate")
"""Words that no practice knows."""


@dataclass
class Seeded:
    """What was put where: by pattern, the numbers of the visits that show it."""

    where: dict[str, set[str]] = field(default_factory=dict)
    allowed: dict[str, set[str]] = field(default_factory=dict)
    """Those that may show it, because another fault does so too."""

    def put(self, pattern: str, number: str) -> None:
        self.where.setdefault(pattern, set()).add(number)

    def copy(self, pattern: str, number: str) -> None:
        """The first of several copies is the original, which nothing shows to be one."""
        self.may(pattern, number) if pattern not in self.allowed else self.put(pattern, number)

    def may(self, pattern: str, number: str) -> None:
        self.allowed.setdefault(pattern, set()).add(number)


def write_sheet(path: Path, count: int, seed: int, each: int) -> Seeded:
    """`count` visits, of which about one in `each` gets a fault of each pattern that a sheet can show."""
    random, seeded = Random(seed), Seeded()
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, HEADINGS, restval="")
        writer.writeheader()
        for nth in range(count):
            row = clean(nth, random)
            slot = nth % (each * 2)
            if slot % 2 == 0 and slot // 2 < len(FAULTS):
                pattern, fault = FAULTS[slot // 2]
                fault(row, random)
                (seeded.copy if pattern == "I33" else seeded.put)(pattern, row["Visit no"])
                for more in ALSO.get(pattern, ()):
                    seeded.may(more, row["Visit no"])
            writer.writerow(row)
    return seeded


def clean(nth: int, random: Random) -> Row:
    """One visit that contradicts itself nowhere."""
    family, given = name(random)
    day = date(2025, 1, 6) + timedelta(days=nth % 480)
    hour, minute = random.randrange(9, 16), random.choice((0, 15, 30))
    number = f"V{nth:06d}"
    row = {
        "Visit no": number, "Date": f"{day:%d/%m/%Y}", "Time": f"{hour:02d}:{minute:02d}",
        "End": f"{hour:02d}:{minute + 25:02d}", "Seen by": random.choice(("PS", "JB")), "Place": "clinic",
        "Client no": f"C-{nth:06d}", "Surname": family, "First name": given,
        "Date of birth": f"{random.randrange(1, 28):02d}/{random.randrange(1, 13):02d}/{random.randrange(1940, 1995)}",
        "Sex": random.choice("FM"), "NHS number": nhs_number(nth), "NHS status": "traced",
        "Address": f"{random.randrange(1, 99)} Sluice Lane", "Town": "Aldersby", "Postcode": "ZX9 4QT",
        "Phone": f"07700 900{random.randrange(100, 999)}", "GP practice": "none", "Reason": "blocked feeling",
        "Allergies": "none", "Medicines": "none", "Softener before": random.choice(("olive oil", "sodium bicarbonate")),
        "Consent to treat": "yes", "Consent to share": "yes", "Advice": random.choice(("keep dry", "no cotton buds")),
        "Follow-up": "f/u 12/12", "GP action": "nothing", "Written up": f"{day:%d/%m/%Y} {hour + 1:02d}:30",
        "Impression": "R impacted wax",
    }  # fmt: skip
    for ear in "RL":
        amount, percent = random.choice((("heavy", 80), ("moderate", 60), ("+++", 90)))
        row |= {
            f"{ear} symptoms": "blocked feeling", f"{ear} before view": "part view", f"{ear} view reason": "wax",
            f"{ear} wax": amount, f"{ear} wax %": str(percent), f"{ear} wax type": random.choice(("hard", "soft")),
            f"{ear} wax colour": random.choice(("brown", "honey")), f"{ear} drum": "not seen (wax)",
            f"{ear} method": "microsuction", f"{ear} instrument": "fine end", f"{ear} tube": "18G",
            f"{ear} suction mmHg": str(random.choice((110, 120, 140))), f"{ear} outcome": "complete",
            f"{ear} events": "no bleeding", f"{ear} pain": str(random.randrange(3)),
            f"{ear} tolerance": "well tolerated", f"{ear} after view": "full view", f"{ear} after wax": "none",
            f"{ear} after wax %": "0", f"{ear} after canal": "NAD", f"{ear} after drum": "NAD",
            f"{ear} hearing change": "better",
        }  # fmt: skip
    return row


def _other_side(row: Row, random: Random) -> None:
    words = ("Left ear was sore at first.", "The left ear held a plug of wax.", "Wax in the left ear taken out.",
             "LEFT EAR: heavy wax.", "L ear clear now.")  # fmt: skip
    row["R ear note"] = random.choice(words)


def _unknown_word(row: Row, random: Random) -> None:
    row[f"{random.choice('RL')} {random.choice(('wax type', 'wax colour'))}"] = random.choice(UNKNOWN)


def _spelling(row: Row, random: Random) -> None:
    """A known word with one letter changed for one that makes it no other word."""
    word = random.choice(("exostoses", "tortuous", "osteoma", "stenosis", "perichondritis", "collapsed"))
    at = random.randrange(2, len(word) - 1)
    row[f"{random.choice('RL')} canal"] = word[:at] + random.choice("qxz") + word[at + 1 :]


def _no_code(row: Row, random: Random) -> None:
    words = ("a bit mucky round the rim", "odd whitish bits here and there", "looks as it did in the spring",
             "much the same as the other one was")  # fmt: skip
    row["L after canal"] = random.choice(words)


def _unit(row: Row, random: Random) -> None:
    heading, value = random.choice(
        (("wax depth", "1.6"), ("wax depth", "2"), ("wax depth", "42"), ("wax depth", "160"), ("suction mmHg", "1600"),
         ("suction mmHg", "5"), ("tube", "180G"), ("tube", "2"))
    )  # fmt: skip
    row[f"{random.choice('RL')} {heading}"] = value


def _fraction(row: Row, random: Random) -> None:
    row[f"{random.choice('RL')} wax %"] = random.choice(("0.8", "0.75", "0.6", "0.9"))


def _scale(row: Row, random: Random) -> None:
    row[f"{random.choice('RL')} pain"] = random.choice(("70", "30", "11", "100", "-1"))


def _swapped(row: Row, random: Random) -> None:
    row |= {"R wax": "none", "R wax %": "0", "R wax type": "", "R wax colour": "", "R view reason": "narrow canal"}
    row |= random.choice(
        ({"R after wax": "heavy", "R after wax %": "80"}, {"R after wax": "moderate", "R after wax %": "60"})
    )


def _dated(row: Row, random: Random) -> None:
    if random.random() < 0.5:
        row["Date of birth"] = random.choice(("01/02/2027", "30/06/2028"))
    else:
        row["End"] = "08:15"


def _outcome(row: Row, random: Random) -> None:
    kind = random.randrange(3)
    if kind == 0:
        row |= {"L after wax": "moderate", "L after wax %": str(random.choice((40, 50, 60)))}
    elif kind == 1:
        row |= {"L outcome": "partial", "L reason": "too hard"}
    else:
        row |= {"L outcome": "not needed"}


def _no_side(row: Row, random: Random) -> None:
    row["Impression"] = random.choice(("impacted wax", "otitis externa", "excess wax"))


def _no_method(row: Row, random: Random) -> None:
    method = random.choice(("wax removal", "removal", "cleaned"))
    row |= {"R method": method, "R instrument": "", "R tube": "", "R suction mmHg": ""}


def _harm(row: Row, random: Random) -> None:
    words = ("Small bleed as the plug came away.", "Felt faint when sitting up.", "Slight bleeding from the wall.",
             "Minor graze of the skin, left alone.", "Vomited once on the way out.")  # fmt: skip
    row[f"{random.choice('RL')} ear note"] = random.choice(words)


def _number(row: Row, random: Random) -> None:
    row["NHS number"] = wrong_number(row["NHS number"])


def _barred(row: Row, random: Random) -> None:
    row |= {"R method": "irrigation", "R instrument": "", "R tube": "", "R suction mmHg": ""}
    row |= random.choice(
        ({"R past events": "mastoidectomy"}, {"Cautions": "cleft palate"}, {"R contents": "button battery"})
    )


def _eyes(row: Row, random: Random) -> None:
    row["R ear note"] = random.choice(("Wax OD as before.", "Seen OS last time.", "OU looked at.", "Plug, OD."))


def _age(row: Row, random: Random) -> None:
    row["Date of birth"] = random.choice(("01/02/1890", "05/06/1885", "11/11/1900"))


def _copied(row: Row, random: Random) -> None:
    row["Notes"] = (
        "Plug of hard wax taken out in three pieces from the depth of the canal, the skin behind it pale and whole, "
        "spoke about drops."
    )


FAULTS: tuple[tuple[str, Callable[[Row, Random], None]], ...] = (
    ("I02", _other_side), ("I06", _unknown_word), ("I07", _spelling), ("I15", _no_code),
    ("I16", _unit), ("I17", _fraction), ("I18", _scale), ("I19", _swapped), ("I20", _dated), ("I21", _outcome),
    ("I22", _no_side), ("I23", _no_method), ("I24", _harm), ("I27", _number), ("I30", _barred), ("I31", _eyes),
    ("I32", _age), ("I33", _copied),
)  # fmt: skip
ALSO = {
    "I06": ("I15",), "I07": ("I15", "I06"), "I19": ("I21",), "I21": ("I19",), "I23": ("I15",),
}  # fmt: skip
"""Patterns that a fault shows as well, so that finding them there is no false alarm."""
