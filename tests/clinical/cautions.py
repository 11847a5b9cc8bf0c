"""Standing cautions of a clean visit: nothing to do with the method, or with the reason for the method beside them."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.day import some

HARMLESS = (
    "hearing aid user",
    "carer present",
    "wheelchair",
    "hard of hearing",
    "pacemaker",
    "anxious",
    "neck stiffness",
)
REASONED: tuple[tuple[Any, str, tuple[str, ...], str | None], ...] = (
    # caution, why the method all the same or because of it, ways of working, medicine that goes with it
    ("anticoagulant", "Takes a blood thinner: gentle suction, no touch of the skin.", ("suction",), "apixaban"),
    ("anticoagulant", "On warfarin: suction with the microscope, away from the wall.", ("suction",), "warfarin"),
    ("diabetes", "Diabetic: no water; skin of the canal left alone.", ("suction",), "metformin"),
    ("diabetes", "Diabetic: soft outer wax, lifted out without touching the skin.", ("tools",), "metformin"),
    ("on methotrexate", "Immune system held down: dry method, clean instruments, no touch of the skin.", ("suction",),
     "methotrexate"),
    ("head and neck radiotherapy", "Fragile skin: suction only, well away from the wall.", ("suction",),
     None),
    ("vertigo history", "Vertigo in the past: no water and no flow of air.", ("tools",), None),
    ("hyperacusis", "Cannot bear the noise of suction.", ("tools",), None),
    ("tinnitus", "Tinnitus in both ears, known to the doctor: no noise of suction.", ("tools",), None),
    ("cleft palate", "Repaired cleft palate: no water.", ("suction", "tools"), None),
)  # fmt: skip


def cautions(rng: random.Random, way: str | None) -> tuple[list[Any], str | None, list[str]]:
    """The cautions, the reason for the method where they ask for one, and medicines that go with them."""
    fitting = [row for row in REASONED if way in row[2]]
    if fitting and rng.random() < 0.3:
        caution, why, _, medicine = rng.choice(fitting)
        return [caution], why, [medicine] if medicine else []
    if rng.random() < 0.25:
        return some(rng, HARMLESS, 1, 2), None, []
    return ["none"], None, []
