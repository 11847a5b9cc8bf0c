"""Figures of three clinics that differ, a fourth that sent two files, and a list that names two more."""

from __future__ import annotations

import json

from bridge.audit.figures import About, Figures, figures, read_figures
from bridge.audit.roll_up import Expected, RolledUp, added
from bridge.audit.shapes import Audited, CodeUse, PatternFound, Rate, TermUse
from bridge.issues import Severity
from tests.audit.hand_made import SCT, audited, group, summed


def small() -> Audited:
    """80 records of two months; wax ++ under another code than in the others."""
    months = (group("2026-01", 40, 300, 380), group("2026-02", 40, 300, 390))
    return Audited(
        records=80,
        first_month="2026-01",
        last_month="2026-02",
        completeness=summed(months, "coded"),
        sided=summed(months, "sided"),
        text_only=summed(months, "text_only"),
        unspecific=summed(months, "unspecific"),
        retired=Rate(0, 600),
        conflicts=summed(months, "conflicts"),
        months=months,
        practitioners=months[:1],
        consistency=1.0,
        terms=(TermUse("before.wax.amount", "Wax ++", 50, (CodeUse(SCT, "298007001", "Excessive", 50),), 1.0, 0.0),),
        patterns=(
            PatternFound("I13", "t", (), Severity.error, Rate(9, 40)),
            PatternFound("I15", "t", (), Severity.warning, Rate(2, 80)),
        ),
    )


def sent(key: str, name: str, held: Audited | None = None, maps: str = "2026-11") -> Figures:
    """What a clinic sent, as it is read."""
    data = figures(held or audited(), About(key, name, maps, "free"), lambda words: words.casefold() == "wax ++")
    found, issues = read_figures(json.dumps(data).encode(), f"{key}.json")
    assert found is not None, issues
    return found


EXPECTED = [
    Expected("k1", ""),
    Expected("", "little clinic"),
    Expected("k9", "Gone Clinic"),
    Expected("k2", "Hatherby"),
]


def clinics() -> list[Figures]:
    twice = [sent("k4", "Twice"), sent("k4", "Twice", small())]
    return [
        sent("k1", "Millbrook Ear Care"),
        sent("k2", "Hatherby <b>Ears"),
        sent("k3", "Little Clinic", small(), "2026-10"),
        *twice,
    ]


def rolled_up() -> RolledUp:
    return added(clinics(), EXPECTED)
