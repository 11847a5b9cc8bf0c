"""Averages and bands. Worked by hand from the formulas: BSA descriptors (2018) as quoted by MESHGuides, five
frequencies, whole numbers; World report on hearing (WHO 2021, table 1.3), four frequencies, better ear, not rounded."""

from __future__ import annotations

from decimal import Decimal

import pytest

from bridge.render.audiogram.averages import Average, average, band, better, shown
from bridge.render.audiogram.facts import Threshold

FIVE = (250, 500, 1000, 2000, 4000)


def ear(*levels: object, side: str = "right", response: bool = True) -> list[Threshold]:
    return [
        Threshold(side, "before", f, "air", False, Decimal(str(level)), response)  # type: ignore[arg-type]
        for f, level in zip(FIVE, levels, strict=True)
    ]


@pytest.mark.parametrize(
    ("levels", "five", "word", "four"),
    [((20, 25, 30, 45, 60), "36", "mild", "40"), ((10, 15, 20, 20, 25), "18", "normal", "20")],
)
def test_worked_values(levels: tuple[int, ...], five: str, word: str, four: str) -> None:
    bsa, who = (average(ear(*levels), "right", scheme).mean for scheme in ("bsa", "who"))
    assert bsa is not None
    assert who is not None
    assert (shown(bsa, "bsa"), band(bsa, "bsa"), who) == (Decimal(five), word, Decimal(four))


@pytest.mark.parametrize(
    ("scheme", "mean", "word"),
    [
        ("bsa", "20", "normal"), ("bsa", "20.4", "normal"), ("bsa", "20.5", "mild"), ("bsa", "40.0", "mild"),
        ("bsa", "40.2", "mild"), ("bsa", "40.5", "moderate"), ("bsa", "41", "moderate"), ("bsa", "70", "moderate"),
        ("bsa", "71", "severe"), ("bsa", "95", "severe"), ("bsa", "96", "profound"), ("bsa", "-5", "normal"),
        ("who", "19.9", "normal"), ("who", "20", "mild"), ("who", "34.9", "mild"), ("who", "34.995", "mild"),
        ("who", "35.0", "moderate"), ("who", "50", "moderately-severe"), ("who", "65", "severe"),
        ("who", "80", "profound"), ("who", "94.99", "profound"), ("who", "95", "complete"), ("who", "-20", "normal"),
    ],
)  # fmt: skip
def test_edges(scheme: str, mean: str, word: str) -> None:
    assert band(Decimal(mean), scheme) == word  # type: ignore[arg-type]


def test_a_mean_never_looks_like_the_next_band() -> None:
    assert shown(Decimal("34.996"), "who") == Decimal("34.99")


def test_what_is_missing_unheard_or_double_gives_no_average() -> None:
    whole = ear(20, 25, 30, 45, 60)
    assert average(whole[1:], "right", "bsa") == Average(None, "missing", (250,))
    assert average(whole[1:], "right", "who").mean == 40
    unheard = [*whole[:4], *ear(0, 0, 0, 0, 90, response=False)[4:]]
    assert average(unheard, "right", "who") == Average(None, "no-response", (4000,))
    assert average([*whole, *ear(20, 25, 30, 45, 65)[4:]], "right", "who") == Average(None, "twice", (4000,))
    assert average([*whole, *whole], "right", "who").mean == 40, "the same value twice is one value"
    bone = [Threshold(t.ear, t.stage, t.frequency, "bone", False, t.level, True) for t in whole]
    assert average(bone, "right", "bsa") == Average(None, "missing", FIVE)
    assert average(whole, "left", "who").why == "missing"


def test_the_better_ear_needs_both() -> None:
    right, left = Average(Decimal(40)), Average(Decimal("20.25"))
    assert better({"right": right, "left": left}) == (["left"], Decimal("20.25"))
    assert better({"right": right, "left": right}) == (["right", "left"], Decimal(40))
    assert better({"right": right, "left": Average(None, "missing", (500,))}) is None
