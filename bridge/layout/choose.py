"""Which of several layouts fits the headings of a sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from bridge.errors import InputError
from bridge.layout.model import Layout
from bridge.layout.tables import fold


def told_apart(headings: Sequence[str], layout: Layout | None = None) -> list[str]:
    """The headings, the second of two that are alike as `Wax (2)`: with a layout, only where it names that one."""
    wanted = None if layout is None else {fold(c.heading) for c in layout.columns}
    there = {fold(h) for h in headings}
    counts: Counter[str] = Counter()
    found = []
    for heading in headings:
        counts[fold(heading)] += 1
        name = f"{heading} ({counts[fold(heading)]})"
        again = bool(heading) and counts[fold(heading)] > 1 and fold(name) not in there
        found.append(name if again and (wanted is None or fold(name) in wanted) else heading)
    return found


def missing_headings(headings: Sequence[str], layout: Layout) -> list[str]:
    """Headings that the layout needs and the sheet lacks."""
    have = {fold(h) for h in told_apart(headings, layout)}
    return [c.heading for c in layout.columns if not c.optional and fold(c.heading) not in have]


def extra_headings(headings: Sequence[str], layout: Layout) -> list[str]:
    """Headings of the sheet that the layout does not name."""
    known = {fold(c.heading) for c in layout.columns}
    return [h for h in told_apart(headings, layout) if h.strip() and fold(h) not in known]


def choose_layout(headings: Sequence[str], layouts: Sequence[Layout], file: str = "") -> Layout:
    """The one layout all of whose headings the sheet has and which knows all of the sheet's.

    Where several need nothing that is missing, the one that leaves no heading unknown wins. Raises InputError
    with the differing columns where none fits, or more than one; `file` is its name in there.
    """
    if not layouts:
        raise InputError(
            f"There is no layout for {file or 'this sheet'}.",
            "A layout says which column is which. `visit-bridge layout draft FILE` proposes one for your sheet; put it"
            " into the folder `layouts` of your practice folder, or name a layout with --layout.",
        )
    whole = [lay for lay in layouts if not missing_headings(headings, lay)]
    exact = [lay for lay in whole if not extra_headings(headings, lay)]
    fitting = exact or whole
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        names = ", ".join(f"“{lay.name}”" for lay in fitting)
        told = f"More than one layout fits {file or 'this sheet'}: {names}."
        raise InputError(told, "Name the one you mean with --layout.")
    raise InputError(
        f"No layout fits {file or 'this sheet'}:\n" + "\n".join(f"  {_differs(headings, lay)}" for lay in layouts),
        "`visit-bridge layout draft FILE` proposes a layout for this sheet. Or change the headings in yours to those of"
        " the sheet, or name another layout with --layout.",
    )


def _differs(headings: Sequence[str], layout: Layout) -> str:
    lacks = missing_headings(headings, layout)
    told = ", ".join(f"“{h[:60]}”" for h in lacks[:8]) + (f" and {len(lacks) - 8} more" if len(lacks) > 8 else "")
    return f"“{layout.name}” wants columns that the sheet lacks: {told}."
