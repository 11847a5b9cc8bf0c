"""Agreement among practitioners: which code each gives to the same words."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable
from itertools import combinations

from bridge.audit.measures import Coincidences, cohen_kappa, percent
from bridge.audit.shapes import Agreement
from bridge.audit.tables import Code
from bridge.audit.terms import Term

MOST = 12
"""Practitioners, those with most uses, who are compared two by two."""


def agreement(terms: Iterable[Term]) -> tuple[Agreement, ...]:
    """All together first, then each pair that coded some words both. A thing is a term; what somebody codes it as is
    the code that they give it most often."""
    given: list[dict[str, Code]] = []
    uses: Counter[str] = Counter()
    for term in terms:
        chosen = _chosen(term)
        if len(chosen) > 1:
            given.append(chosen)
            uses.update(chosen.keys())
    if not given:
        return ()
    sums, same, pairs = Coincidences(), 0, 0
    for chosen in given:
        counts = Counter[Hashable](chosen.values())
        sums.add(counts)
        pairs += len(chosen) * (len(chosen) - 1)
        same += sum(n * (n - 1) for n in counts.values())
    people = tuple(name for name, _ in sorted(uses.items(), key=lambda one: (-one[1], one[0])))
    both = [_pair(one, other, given) for one, other in combinations(people[:MOST], 2)]
    kappa = both[0].kappa if len(people) == 2 and both and both[0] else None
    whole = Agreement(people, sums.things, same / pairs, kappa, sums.alpha())
    return (whole, *(one for one in both if one is not None))


def _chosen(term: Term) -> dict[str, Code]:
    by_coder: dict[str, Counter[Code]] = defaultdict(Counter)
    for (coder, code), count in term.coders.items():
        by_coder[coder][code] += count
    return {coder: min(codes, key=lambda code: (-codes[code], code)) for coder, codes in by_coder.items()}


def _pair(one: str, other: str, given: list[dict[str, Code]]) -> Agreement | None:
    table: Counter[tuple[Hashable, Hashable]] = Counter()
    sums = Coincidences()
    for chosen in given:
        if one in chosen and other in chosen:
            table[chosen[one], chosen[other]] += 1
            sums.add(Counter[Hashable]((chosen[one], chosen[other])))
    if not table:
        return None
    return Agreement((one, other), table.total(), percent(table), cohen_kappa(table), sums.alpha())
