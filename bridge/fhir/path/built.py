"""What a part of an expression is built to: a function of a collection and a run."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from bridge.fhir.path.items import FALSE, TRUE, Items, Run
from bridge.fhir.path.kinds import truth

Collect = Callable[[Items, Run], Items]
Judge = Callable[[Items, Run], bool | None]


class Built(NamedTuple):
    """One part, built: as a collection, as a truth, or both."""

    collect: Collect
    judge: Judge


def judged(judge: Judge) -> Built:
    def collect(items: Items, run: Run) -> Items:
        answer = judge(items, run)
        return [] if answer is None else TRUE if answer else FALSE

    return Built(collect, judge)


def collected(collect: Collect) -> Built:
    return Built(collect, lambda items, run: truth(collect(items, run)))


def constant(items: Items) -> Built:
    return collected(lambda _, run: items)
