"""Elements and slices of a profile in words, as messages name them."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.profiles.part import Part


def named(part: Part) -> str:
    """The element: its path, its slice or the slice around it, and whose it is."""
    if part.slice:
        sliced = f" (slice {part.slice[:60]})"
    else:
        sliced = next((f" in slice {one.slice[:60]}" for one in _around(part) if one.slice), "")
    return f"{_path(part)}{sliced} of {part.profile}"


def divided(part: Part) -> str:
    """What is divided into slices: the element, or the slice of it that is divided again."""
    within = f" (within slice {part.slice.rpartition('/')[0] or part.slice})" if part.slices and part.slice else ""
    return f"{_path(part)}{within} of {part.profile}"


def _path(part: Part) -> str:
    """The path without the names of slices."""
    return ".".join(step.partition(":")[0] for step in part.id.split("."))[:120]


def _around(part: Part) -> Iterator[Part]:
    at = part.above
    while at is not None:
        yield at
        at = at.above
