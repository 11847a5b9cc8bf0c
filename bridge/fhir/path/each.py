"""Functions whose argument is asked of each item: where(), exists(), all(), select(), repeat(), aggregate().

Source: https://hl7.org/fhirpath/N1/#filtering-and-projection, #existence, #aggregates.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from bridge.fhir.path.built import Built, Collect, Judge, collected, judged
from bridge.fhir.path.equal import key
from bridge.fhir.path.items import Items, Run
from bridge.fhir.path.undecided import UndecidedError


def at_this(arg: Collect, run: Run) -> Items:
    """An argument, which is about `$this` and not about what stands before the function."""
    return arg(run.this, run)


def _each(judge_or_collect: Callable[[Items, Run], object], items: Items, run: Run) -> Iterable[object]:
    """What an argument says of each item, which is `$this` meanwhile."""
    this, index = run.this, run.index
    try:
        run.spend(len(items))
        for n, item in enumerate(items):
            run.this, run.index = [item], n
            yield judge_or_collect(run.this, run)
    finally:
        run.this, run.index = this, index


def where(arg: Built) -> Built:
    judge = arg.judge

    def collect(items: Items, run: Run) -> Items:
        return [item for item, answer in zip(items, list(_each(judge, items, run)), strict=True) if answer]

    return collected(collect)


def exists_of(arg: Built) -> Built:
    judge = arg.judge
    return judged(lambda items, run: _any(judge, True, items, run))


def all_of(arg: Built) -> Built:
    judge = arg.judge
    return judged(lambda items, run: not _any(judge, False, items, run))


def _any(judge: Judge, wanted: bool, items: Items, run: Run) -> bool:
    """Whether an item says so; one that cannot be decided matters only where no other one does."""
    undecided = False
    this, index = run.this, run.index
    try:
        run.spend(len(items))
        for n, item in enumerate(items):
            run.this, run.index = [item], n
            try:
                if bool(judge(run.this, run)) is wanted:
                    return True
            except UndecidedError:
                undecided = True
    finally:
        run.this, run.index = this, index
    if undecided:
        raise UndecidedError
    return False


def select(arg: Built) -> Built:
    def collect(items: Items, run: Run) -> Items:
        found: Items = []
        for inner in _each(arg.collect, items, run):
            found += inner  # type: ignore[arg-type]
            run.spend(len(inner))  # type: ignore[arg-type]
        return found

    return collected(collect)


def repeat(arg: Built) -> Built:
    def collect(items: Items, run: Run) -> Items:
        found: Items = []
        seen = set()
        waiting = items
        while waiting:
            fresh: Items = []
            for inner in _each(arg.collect, waiting, run):
                for item in inner:  # type: ignore[attr-defined]
                    mark = id(item[0]) if isinstance(item[0], dict) else key(item)
                    if mark not in seen:
                        seen.add(mark)
                        fresh.append(item)
            run.spend(len(fresh))
            found += fresh
            waiting = fresh
        return found

    return collected(collect)


def aggregate(arg: Collect, start: Collect | None, items: Items, run: Run) -> Items:
    before = run.total
    run.total = at_this(start, run) if start else []
    try:
        for found in _each(arg, items, run):
            run.total = list(found)  # type: ignore[call-overload]
            run.spend(len(run.total))
        return run.total
    finally:
        run.total = before
