"""Agreement and spread against worked values; test_measures_oracles.py compares with libraries of others."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest

from bridge.audit.measures import (
    Coincidences,
    band,
    cohen_kappa,
    consistency,
    entropy,
    krippendorff_alpha,
    pairs_of,
    percent,
    wilson,
)

BALANCED, SKEWED = [[40, 5], [3, 52]], [[92, 4], [3, 1]]
"""Both yes, first only; second only, both no. By hand: po 92/100 and 93/100, pe 0.507 and 0.914."""

FOUR_OBSERVERS = ("123321412...", "1233224125.3", ".3332342251.", "12332441251.")
"""Krippendorff, Computing Krippendorff's alpha-reliability (2011), section C: four observers, twelve units, a dot where
one gave no value. From memory; the value printed there is 0.743."""


def units(rows: tuple[str, ...]) -> list[Counter[str]]:
    return [Counter(value for value in column if value != ".") for column in zip(*rows, strict=True)]


@pytest.mark.parametrize(("table", "share", "kappa"), [(BALANCED, "0.92", "0.838"), (SKEWED, "0.93", "0.186")])
def test_worked_tables(table: list[list[int]], share: str, kappa: str) -> None:
    pairs = pairs_of(table)
    assert f"{percent(pairs):.2f}" == share
    assert f"{cohen_kappa(pairs):.3f}" == kappa


def test_high_percent_goes_with_low_kappa_where_one_code_prevails() -> None:
    first, second = pairs_of(BALANCED), pairs_of(SKEWED)
    assert (percent(first) or 0) < (percent(second) or 0)
    assert (cohen_kappa(first) or 0) > (cohen_kappa(second) or 0)


def test_kappa_is_the_float_nearest_to_the_fraction() -> None:
    exact = (Fraction(92, 100) - Fraction(507, 1000)) / (1 - Fraction(507, 1000))
    assert cohen_kappa(pairs_of(BALANCED)) == float(exact)


def test_kappa_below_chance_is_negative() -> None:
    assert cohen_kappa(pairs_of([[0, 5], [5, 0]])) == -1.0


@pytest.mark.parametrize("table", [[], [[0, 0], [0, 0]], [[7, 0], [0, 0]], [[0, 0], [0, 7]]])
def test_kappa_is_not_defined_without_things_or_with_one_code_alone(table: list[list[int]]) -> None:
    assert cohen_kappa(pairs_of(table)) is None


def test_kappa_of_one_code_each_that_differ_is_nought() -> None:
    assert cohen_kappa({("a", "b"): 9}) == 0.0


def test_percent_of_nothing_is_none() -> None:
    assert percent({}) is None


def test_alpha_of_the_published_example_with_gaps() -> None:
    assert f"{krippendorff_alpha(units(FOUR_OBSERVERS)):.3f}" == "0.743"


@pytest.mark.parametrize(
    ("rows", "alpha"), [(("0100000010", "1110010000"), "0.095"), (("aabbdcccedda", "babbbccceddd"), "0.692")]
)
def test_alpha_of_the_published_examples_with_two_observers(rows: tuple[str, str], alpha: str) -> None:
    """Sections A and B of the same paper, from memory with the values printed there."""
    assert f"{krippendorff_alpha(units(rows)):.3f}" == alpha


def test_alpha_does_not_see_what_one_coder_alone_coded() -> None:
    found = units(FOUR_OBSERVERS)
    assert krippendorff_alpha([*found, Counter("4"), Counter()]) == krippendorff_alpha(found)


def test_alpha_of_two_coders_by_hand() -> None:
    """aa, ab, bb: n = 6, three of each; Do = 2/6, De = 1 - 12/30, so 1 - (1/3) / (3/5) = 4/9."""
    assert krippendorff_alpha(units(("aab", "abb"))) == float(Fraction(4, 9))


@pytest.mark.parametrize("rows", [(), ("a",), ("ab.", "..a"), ("aaa", "aaa")])
def test_alpha_is_not_defined_without_pairs_or_with_one_code_alone(rows: tuple[str, ...]) -> None:
    assert krippendorff_alpha(units(rows)) is None


def test_units_can_be_counted_together() -> None:
    one, many = Coincidences(), Coincidences()
    many.add({"a": 1, "b": 2}, 5)
    many.add({"b": 3}, 2)
    for unit in [{"a": 1, "b": 2}] * 5 + [{"b": 3}] * 2:
        one.add(unit)
    assert one.alpha() == many.alpha()
    assert one.things == many.things == 7


@pytest.mark.parametrize(
    ("counts", "bits", "share"),
    [([4], 0.0, 1.0), ([2, 2], 1.0, 0.5), ([1] * 8, 3.0, 0.125), ([2, 1, 1, 0], 1.5, 0.5)],
)
def test_entropy_and_consistency(counts: list[int], bits: float, share: float) -> None:
    assert entropy(counts) == bits
    assert consistency(counts) == share


def test_nothing_coded_is_neither_consistent_nor_not() -> None:
    assert entropy([]) is entropy([0]) is consistency([]) is consistency([0, 0]) is None


@pytest.mark.parametrize(
    ("kappa", "word"),
    [
        (-0.3, "poor"),
        (0.0, "slight"),
        (0.186, "slight"),
        (0.204, "slight"),
        (0.21, "fair"),
        (0.404, "fair"),
        (0.41, "moderate"),
        (0.6049, "moderate"),
        (0.61, "substantial"),
        (0.8049, "substantial"),
        (0.838, "almost perfect"),
        (1.0, "almost perfect"),
        (None, ""),
    ],
)
def test_words_go_by_the_value_as_it_is_printed(kappa: float | None, word: str) -> None:
    assert band(kappa) == word


def test_an_interval_holds_its_share_and_stays_between_none_and_all() -> None:
    for of in range(1, 60):
        for count in range(of + 1):
            low, high = wilson(count, of) or (2.0, 2.0)
            assert 0 <= low <= count / of <= high <= 1
    assert wilson(0, 0) is None
