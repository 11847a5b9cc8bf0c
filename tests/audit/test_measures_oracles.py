"""Kappa, alpha, entropy and intervals equal libraries of others over generated tables to 1e-12.

Oracles: scikit-learn (kappa), nltk.metrics.agreement (kappa, alpha), krippendorff (alpha), scipy (entropy, interval).
Where everything has one code they answer 1, 0, nan or an exception; that is not compared, and ours is None.
"""

from __future__ import annotations

import os
import random
from collections import Counter

import krippendorff
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nltk.metrics.agreement import AnnotationTask
from scipy.stats import binomtest
from scipy.stats import entropy as scipy_entropy
from sklearn.metrics import cohen_kappa_score

from bridge.audit.measures import cohen_kappa, entropy, krippendorff_alpha, pairs_of, percent, wilson

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "0"))
CLOSE = 1e-12
Table = list[list[int]]

tables = st.integers(2, 7).flatmap(
    lambda size: st.lists(
        st.lists(st.one_of(st.integers(0, 3), st.integers(0, 5_000)), min_size=size, max_size=size),
        min_size=size,
        max_size=size,
    )
)


def seeded(count: int, seed: int) -> list[Table]:
    """Tables of all sizes: sparse, dense, nearly all on the diagonal, one code that prevails."""
    by = random.Random(seed)
    found = []
    for _ in range(count):
        size, most = by.randint(2, 9), by.choice([1, 3, 50, 2_000])
        table = [[by.randint(0, most) for _ in range(size)] for _ in range(size)]
        if by.random() < 0.3:
            for at in range(size):
                table[at][at] += by.randint(0, 20 * most)
        if by.random() < 0.2:
            table[0][0] += 100 * most
        found.append(table)
    return found


def coded(table: Table) -> tuple[list[int], list[int], list[int]]:
    """Codes of the first, codes of the second, and how often each pair."""
    cells = [(row, column, count) for row, counts in enumerate(table) for column, count in enumerate(counts) if count]
    return [c[0] for c in cells], [c[1] for c in cells], [c[2] for c in cells]


def agree_on_kappa(table: Table) -> None:
    first, second, weights = coded(table)
    ours = cohen_kappa(pairs_of(table))
    if ours is None:
        assert len(set(first) | set(second)) <= 1
        return
    theirs = cohen_kappa_score(first, second, sample_weight=weights)
    assert ours == pytest.approx(theirs, abs=CLOSE, rel=0)
    right = sum(count for one, other, count in zip(first, second, weights, strict=True) if one == other)
    assert percent(pairs_of(table)) == right / sum(weights)


@given(tables)
@settings(max_examples=300, deadline=None)
def test_kappa_as_scikit_learn_has_it(table: Table) -> None:
    agree_on_kappa(table)


def test_kappa_as_scikit_learn_has_it_over_seeded_tables() -> None:
    for table in seeded(MANY or 400, 1):
        agree_on_kappa(table)


Rows = list[list[str | None]]


def coders(count: int, seed: int) -> list[Rows]:
    """What two to six coders gave to up to 40 things, None where one gave nothing."""
    by = random.Random(seed)
    found = []
    for _ in range(count):
        codes, gaps = "abcdefgh"[: by.randint(2, 8)], by.choice([0.0, 0.1, 0.5])
        things, alike = by.randint(2, 40), by.random()
        truth = [by.choice(codes) for _ in range(things)]
        found.append(
            [
                [None if by.random() < gaps else t if by.random() < alike else by.choice(codes) for t in truth]
                for _ in range(by.randint(2, 6))
            ]
        )
    return found


def units(rows: Rows) -> list[Counter[str]]:
    return [Counter(value for value in column if value is not None) for column in zip(*rows, strict=True)]


def agree_on_alpha(rows: Rows) -> None:
    ours = krippendorff_alpha(units(rows))
    used = [unit for unit in units(rows) if sum(unit.values()) > 1]
    codes = sorted({code for unit in used for code in unit})
    if len(codes) < 2:
        assert ours is None
        return
    counts = np.array([[unit[code] for code in codes] for unit in used])
    theirs = krippendorff.alpha(value_counts=counts, level_of_measurement="nominal")
    assert ours == pytest.approx(theirs, abs=CLOSE, rel=0)
    known = {at for at, unit in enumerate(units(rows)) if sum(unit.values()) > 1}  # nltk counts lone values too
    told = [(f"c{c}", f"t{at}", v) for c, row in enumerate(rows) for at, v in enumerate(row) if v and at in known]
    assert ours == pytest.approx(AnnotationTask(told).alpha(), abs=CLOSE, rel=0)


def test_alpha_as_krippendorff_and_nltk_have_it_over_seeded_coders() -> None:
    for rows in coders(min(MANY, 20_000) or 200, 2):
        agree_on_alpha(rows)


@given(
    st.integers(2, 5).flatmap(
        lambda n: st.lists(st.tuples(*[st.sampled_from(["a", "b", "c", None])] * n), min_size=1, max_size=12)
    )
)
@settings(max_examples=200, deadline=None)
def test_alpha_as_krippendorff_and_nltk_have_it(columns: list[tuple[str | None, ...]]) -> None:
    agree_on_alpha([list(row) for row in zip(*columns, strict=True)])


def test_kappa_as_nltk_has_it() -> None:
    for rows in coders(min(MANY, 20_000) or 100, 3):
        both = [(a, b) for a, b in zip(rows[0], rows[1], strict=True) if a and b]
        ours = cohen_kappa(Counter(both))
        if ours is None:
            continue
        told = [(who, f"t{at}", pair[n]) for n, who in enumerate(["x", "y"]) for at, pair in enumerate(both)]
        assert ours == pytest.approx(AnnotationTask(told).kappa(), abs=CLOSE, rel=0)


@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=30).filter(any))
@settings(max_examples=200, deadline=None)
def test_entropy_as_scipy_has_it(counts: list[int]) -> None:
    assert entropy(counts) == pytest.approx(float(scipy_entropy(counts, base=2)), abs=CLOSE, rel=0)


@given(st.integers(1, 3_000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
@settings(max_examples=100, deadline=None)
def test_the_interval_as_scipy_has_it(case: tuple[int, int]) -> None:
    theirs = binomtest(*case).proportion_ci(0.95, method="wilson")
    assert wilson(*case) == pytest.approx((theirs.low, theirs.high), abs=1e-9, rel=0)
