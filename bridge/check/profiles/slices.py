"""Slices: which of them each value is in, and whether there are as many as the profile asks for.

Source: https://hl7.org/fhir/R4/profiling.html#slicing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.check.profiles.context import Context
from bridge.check.profiles.matching import Followed, lacking_the_profile, matches, presorted
from bridge.check.profiles.part import Item, Part
from bridge.check.profiles.words import divided
from bridge.issues import Issue

if TYPE_CHECKING:
    from bridge.check.profiles.run import Run

DEFAULT = "@default"
"""Name of the slice of all that is in no other."""
Met = tuple[Item, Context]


def check(run: Run, part: Part, met: list[Met], path: str, out: list[Issue]) -> None:
    """Sorts the values into the slices of a part and holds each against its slice."""
    assert part.slicing is not None
    named = [s for s in part.slices if s.slice.rpartition("/")[2] != DEFAULT]
    default = next((s for s in part.slices if s not in named), None)
    sorted_in: dict[int, list[Met]] = {n: [] for n in range(len(named))}
    numbers: list[int | None] = []
    undecided = False
    presort = presorted(run, part, named)
    for one in met:
        number, followed = None, Followed()
        for n, one_slice in presort.among(one, followed, run.may_have):
            verdict = matches(run, part, one_slice, one, followed)
            undecided = undecided or verdict is None
            if verdict:
                number = n
                break
        numbers.append(number)
        if number is not None:
            sorted_in[number].append(one)
        elif default is not None:
            run.element(default, one[0], one[1], out)
    for n, one_slice in enumerate(named):
        _held(run, one_slice, sorted_in[n], path, undecided, out)
        if len(sorted_in[n]) < one_slice.min and not undecided:
            free = [one for one, number in zip(met, numbers, strict=True) if number is None]
            if near := lacking_the_profile(run, part, one_slice, free):
                out.extend(run.hold(near[0], *near[1]))
    if undecided and met:
        told = f"It could not be decided which slice of {divided(part)} each value here is in."
        run.tell(out, "P144", met[0][0][2], told, part.id)
    _order(run, part, named, met, numbers, undecided, default is not None, out)


def _held(run: Run, slice: Part, met: list[Met], path: str, undecided: bool, out: list[Issue]) -> None:
    if len(met) < slice.min and not undecided:
        told = f"Slice {slice.slice[:60]} of {divided(slice)} must be here"
        told += f" at least {slice.min} times." if slice.min > 1 else "."
        run.tell(out, "P110", path, told, slice.id)
    if slice.max is not None and len(met) > slice.max:
        told = f"may be here {slice.max} times at the most." if slice.max else "must not be here."
        run.tell(out, "P111", met[slice.max][0][2], f"Slice {slice.slice[:60]} of {divided(slice)} {told}", slice.id)
    if run.must and slice.must and not met and not slice.min:
        told = f"Slice {slice.slice[:60]} of {divided(slice)} is marked must-support, and there is none here."
        run.tell(out, "P140", path, told, slice.id)
    for item, context in met:
        run.element(slice, item, context, out)
    if slice.slices and slice.slicing is not None:
        check(run, slice, met, path, out)


def _order(
    run: Run, part: Part, named: list[Part], met: list[Met], numbers: list[int | None], undecided: bool, default: bool,
    out: list[Issue],
) -> None:  # fmt: skip
    assert part.slicing is not None
    rules, last = part.slicing["rules"], -1
    for (item, _), number in zip(met, numbers, strict=True):
        if number is None:
            if rules == "closed" and not default and not undecided:
                told = f"This is in no slice of {divided(part)}, and nothing else may be here."
                run.tell(out, "P112", item[2], told, part.id)
            continue
        if part.slicing["ordered"] and number < last:
            told = f"Slice {named[number].slice[:60]} of {divided(part)} must come before {named[last].slice[:60]}."
            run.tell(out, "P114", item[2], told, part.id)
        last = max(last, number)
    if rules == "openAtEnd" and not undecided:
        seen_free = False
        for (item, _), number in zip(met, numbers, strict=True):
            if number is not None and seen_free:
                told = f"What is in no slice of {divided(part)} must come last; this stands after it."
                run.tell(out, "P113", item[2], told, part.id)
            seen_free = seen_free or number is None
