"""Results of an audit written by hand, with words that try to break a page."""

from __future__ import annotations

from bridge.audit.shapes import (
    Agreement,
    Audited,
    CodeUse,
    Group,
    PatternFound,
    Rate,
    Suggestion,
    TermUse,
    Worst,
)
from bridge.issues import Issue, Severity, Where

HOSTILE = '=cmd|"<script>alert(1)</script>"\x1b[2J\u202e'
SCT = "http://snomed.info/sct"


def group(name: str, records: int, coded: int, of: int, words: int | None = None) -> Group:
    """Coded of so many; half the records have a side, a tenth of the coded are unspecific."""
    return Group(
        name,
        records,
        Rate(coded, of),
        Rate(of // 2 - 1, of // 2),
        Rate(of - coded if words is None else words, of),
        Rate(coded // 10, coded),
        Rate(records // 20, records),
    )


def summed(months: tuple[Group, ...], name: str) -> Rate:
    rates = [getattr(month, name) for month in months]
    return Rate(sum(one.count for one in rates), sum(one.of for one in rates))


def evidence(rule: str, row: int, message: str = "Doubt in the words, none in the code.") -> Issue:
    place = Where(
        "visits-2026.csv", row=row, column=7, heading="Drum R", record=f"M26-{row:04}", path="right.before.drum[0].term"
    )
    return Issue(rule, message, place, "Put the doubt into the record.", Severity.error)


MONTHS = (
    group("2026-01", 300, 2900, 3000),
    group("2026-02", 310, 2950, 3050),
    group("2026-03", 320, 2900, 3100),
    group("2026-04", 307, 2430, 3130),
    group("2026-05", 3, 23, 24),
)


def audited() -> Audited:
    """1,240 records, 11,203 of 12,304 things coded, and something of everything that a page shows."""
    return Audited(
        records=sum(month.records for month in MONTHS),
        first_month="2026-01",
        last_month="2026-05",
        completeness=summed(MONTHS, "coded"),
        sided=summed(MONTHS, "sided"),
        text_only=summed(MONTHS, "text_only"),
        unspecific=summed(MONTHS, "unspecific"),
        retired=Rate(3, 11203),
        conflicts=summed(MONTHS, "conflicts"),
        consistency=0.972,
        entropy=0.083,
        terms=(
            TermUse(
                "before.wax.amount", "impacted", 900, (CodeUse(SCT, "18070006", "Impacted cerumen", 890),), 1.0, 0.0
            ),
            TermUse(
                "before.wax.amount",
                "wax ++",
                420,
                (
                    CodeUse(SCT, "18070006", "Impacted cerumen", 240),
                    CodeUse(SCT, "298007001", "Excessive cerumen", 160),
                ),
                0.6,
                0.971,
            ),
            TermUse(
                "work.method",
                HOSTILE,
                60,
                (CodeUse(SCT, "1", HOSTILE, 40), CodeUse("urn:x", "2", "", 20)),
                2 / 3,
                0.918,
            ),
            TermUse("before.drum.term", "tm vis nad", 12, (), 1.0, 0.0),
        ),
        practitioners=(
            group("PS", 800, 7600, 8000),
            group("JB", 437, 3600, 4300),
            group(HOSTILE, 3, 3, 4),
        ),
        months=MONTHS,
        agreement=(
            Agreement(("PS", "JB"), 210, 0.843, 0.71, 0.703),
            Agreement(("PS", "JB"), 210, 0.843, 0.71, 0.703),
        ),
        patterns=(
            PatternFound(
                "I13",
                "Suspected or ruled out coded as confirmed",
                ("A113",),
                Severity.error,
                Rate(12, 340),
                tuple(evidence("A113", n) for n in range(2, 9)),
                "Say in the record that it is suspected, and leave the code of the disorder out.",
            ),
            PatternFound(
                "I15",
                "Words without a code",
                ("M101", "M102"),
                Severity.warning,
                Rate(410, 1240),
                (evidence("M101", 44, f"“{HOSTILE}” has no code."),),
                "Add the words to your own terms.",
            ),
            PatternFound(
                "I02",
                "Side and text name different ears",
                ("C121",),
                Severity.error,
                Rate(2, 900),
                (evidence("C121", 9),),
                "Ask whoever saw the client.",
            ),
            PatternFound(
                "I07",
                "One word spelt in several ways",
                ("A107",),
                Severity.information,
                Rate(80, 1240),
                (),
                "Write it one way.",
            ),
            PatternFound(
                "I28",
                "The same words with different codes",
                ("A128",),
                Severity.warning,
                Rate(160, 1240),
                (),
                "Agree on one.",
            ),
            PatternFound(
                "I23", "Method is missing", ("A123",), Severity.warning, Rate(31, 1100), (), "Name the method."
            ),
            PatternFound("I31", "Abbreviation of the eye used for the ear", ("R113",), Severity.error, Rate(0, 1240)),
            PatternFound(
                "I26",
                "Display does not match its code",
                ("T101",),
                Severity.warning,
                Rate(0, 0),
                not_shown="records hold words and no displays",
            ),
        ),
        suggestions=(
            Suggestion(
                "before.wax.amount", (("wax ++", 420), ("wax++", 31), ("wax  +", 2)), "They differ in blanks only."
            ),
            Suggestion("work.method", ((HOSTILE, 60), ("microsuction", 50)), "One letter differs."),
        ),
        worst=tuple(
            Worst(
                f"M26-{n:04}",
                Where("visits-2026.csv", row=n, record=f"M26-{n:04}"),
                tuple(evidence("A113", n) for _ in range(12 - n)),
            )
            for n in range(2, 10)
        ),
        issues=[
            Issue(
                "A150",
                "One source could not be read.",
                Where("odd.csv"),
                "Open it and save it again.",
                Severity.warning,
            )
        ],
    )
