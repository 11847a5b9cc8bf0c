"""Whether figures can be true: what contradicts itself was changed by hand, or was not made by this program."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from bridge.audit.figures.cells import FEW
from bridge.audit.figures.make import digest, withheld


def doubts(data: dict[str, Any]) -> Iterator[str]:
    """A sentence for each; `data` has the shape of figures."""
    if digest(data) != data["sha256"]:
        yield "The digest does not fit the rest: something was changed after the figures were made."
    first, last = data["period"]["first"], data["period"]["last"]
    if first > last or bool(first) != bool(last):
        yield "The period ends before it begins."
    if withheld({key: value for key, value in data.items() if key != "withheld"}) != data["withheld"]:
        yield "The number of withheld counts is not the number of those that are."
    for name, cell in _cells(data):
        yield from _of_cell(name, cell)
    yield from _months(data, first, last)
    yield from _twice("patterns", [one["pattern"] for one in data["patterns"]])
    for one in data["patterns"]:
        records = one["records"]
        if not one["shown"] and (records["count"] is not None or records["of"] is not None):
            yield f"{one['pattern']} is said not to be shown by the data, and has a count."
        if (records["of"] or 0) > data["records"]:
            yield f"{one['pattern']} is of more records than there are."
    yield from _terms(data)


def _cells(data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    yield from ((f"The rate {key}", cell) for key, cell in data["rates"].items())
    yield "The rate consistency", data["consistency"]
    for at, month in enumerate(data["months"], 1):
        yield from ((f"The rate {key} of month {at}", cell) for key, cell in month["rates"].items())
    yield from ((f"The count of {one['pattern']}", one["records"]) for one in data["patterns"] if one["shown"])


def _of_cell(name: str, cell: dict[str, Any]) -> Iterator[str]:
    count, of, why = cell["count"], cell["of"], cell["withheld"]
    if (count is None) != bool(why) or (of is None) != (why == "both"):
        yield f"{name} says that it is withheld and is not, or the other way round."
    elif count is None or of is None:
        return
    elif count > of:
        yield f"{name} counts more than there are."
    elif 0 < count < FEW or 0 < of - count < FEW:
        yield f"{name} shows a count that is too small to be given."


def _months(data: dict[str, Any], first: str, last: str) -> Iterator[str]:
    months = [one["month"] for one in data["months"]]
    yield from _twice("months", months)
    if any(one and not first <= one <= last for one in months):
        yield "A month lies outside of the period."
    if sum(one["records"] or 0 for one in data["months"]) > data["records"]:
        yield "The months have more records together than there are."
    for key, whole in data["rates"].items():
        for part in ("count", "of") if key != "retired" else ():
            together = sum(one["rates"][key][part] or 0 for one in data["months"])
            if whole[part] is not None and together > whole[part]:
                yield f"The rate {key} is larger over the months than for all of them."


def _terms(data: dict[str, Any]) -> Iterator[str]:
    yield from _twice("terms", [(one["kind"], one["text"], one["about"]) for one in data["terms"]])
    for at, term in enumerate(data["terms"], 1):
        yield from _twice(f"codes of term {at}", [(one["system"], one["code"]) for one in term["codes"]])
        if (term["count"] is None) != bool(term["withheld"]):
            yield f"Term {at} says that its count is withheld and it is not, or the other way round."
        elif term["count"] is not None and sum(one["count"] for one in term["codes"]) > term["count"]:
            yield f"Term {at} has more codes than uses."


def _twice(name: str, given: list[Any]) -> Iterator[str]:
    if any(count > 1 for count in Counter(given).values()):
        yield f"One of the {name} stands there twice."
