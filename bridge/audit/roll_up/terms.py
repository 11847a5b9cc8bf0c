"""The same words in several clinics: do they get the same code?"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bridge.audit.figures import Figures

MOST = 200


@dataclass(frozen=True, slots=True)
class SharedTerm:
    """Words that got more than one code, with the counts that clinics gave away."""

    kind: str
    text: str
    about: str
    """How it was said, and of codes of one ear which."""
    clinics: int
    codes: tuple[tuple[str, str, int], ...]
    """System, code and uses, the most used first."""
    between: bool
    """Whether clinics differ in the code that they use most, and not only within one."""


def shared_terms(clinics: Sequence[Figures]) -> tuple[SharedTerm, ...]:
    """Those where clinics differ first, then the most used."""
    met: dict[tuple[str, str, str], list[dict[str, Any]]] = defaultdict(list)
    for one in clinics:
        for term in one.data["terms"]:
            met[term["kind"], " ".join(term["text"].casefold().split()), term["about"]].append(term)
    found = [_shared(terms) for terms in met.values()]
    several = [one for one in found if len(one.codes) > 1]
    several.sort(key=lambda one: (not one.between, -sum(count for *_, count in one.codes), one.kind, one.text))
    return tuple(several[:MOST])


def _shared(terms: list[dict[str, Any]]) -> SharedTerm:
    uses: Counter[tuple[str, str]] = Counter()
    most = set()
    for term in terms:
        uses.update({(one["system"], one["code"]): int(one["count"]) for one in term["codes"]})
        best = max(term["codes"], key=lambda one: (one["count"], one["system"], one["code"]))
        most.add((best["system"], best["code"]))
    codes = sorted(((system, code, count) for (system, code), count in uses.items()), key=lambda one: (-one[2], one))
    return SharedTerm(terms[0]["kind"], terms[0]["text"], terms[0]["about"], len(terms), tuple(codes), len(most) > 1)
