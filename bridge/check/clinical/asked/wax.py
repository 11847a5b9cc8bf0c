"""How much wax, as far as its words and its percentage say: bands of `mappings/clinical/wax-bands.csv`."""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN

_TRACE = 5
"""Percent of the canal that nobody counts as wax left."""
_MUCH = 50
"""Percent from which removal is not needless."""
_BEFORE = ("ear.before.wax.percent", "ear.before.wax.amount")
_AFTER = ("ear.after.wax.percent", "ear.after.wax.amount")


class Band(NamedTuple):
    """Between what percentages a word can mean, its place among the words (None: none), and whether it is much."""

    least: int
    most: int
    rank: int | None
    much: bool


@cache
def _bands() -> dict[str, Band]:
    return {
        row["concept"]: Band(
            int(row["least"]), int(row["most"]), int(row["rank"]) if row["rank"] else None, row["much"] == "yes"
        )
        for row in load_csv(table_path("clinical", "wax-bands.csv"))
    }


@cache
def _told_elsewhere() -> frozenset[str]:
    """Words beside which 0 and 1 percent are doubted by M110 already."""
    return frozenset(row["concept"] for row in load_csv(table_path("wax-percent.csv")))


def _word(wax: Any) -> str:
    codings = wax.amount.codings if wax.amount else ()
    return next((c.code for c in codings if c.system == OWN and c.code in _bands()), "")


def _slip(wax: Any) -> bool:
    """1 percent of heavy wax: nobody knows which is meant."""
    return wax.percent is not None and wax.percent < 2 and _word(wax) in _told_elsewhere()


def extent(wax: Any) -> tuple[int, int] | None:
    """The least and the most percent of the canal that is filled; None where the record does not say."""
    if wax is None or wax.answer or _slip(wax):
        return None
    if wax.percent is not None:
        return wax.percent, wax.percent
    band = _bands().get(_word(wax))
    return (band.least, band.most) if band else None


def _wax(stage: str, context: Context) -> Any:
    return next(iter(values(f"ear.{stage}.wax", context)), None)


@asked("wax_before", fields=_BEFORE)
def wax_before(context: Context) -> Answer:
    """Whether there was wax before the work."""
    found = extent(_wax("before", context))
    return found[1] > 0 if found else None


@asked("wax_after", fields=_AFTER)
def wax_after(context: Context) -> Answer:
    """Whether there is wax after the work."""
    found = extent(_wax("after", context))
    return found[1] > 0 if found else None


@asked("wax_left", fields=_AFTER)
def wax_left(context: Context) -> Answer:
    """Whether more than a trace is left."""
    wax = _wax("after", context)
    if extent(wax) is None:
        return None
    return wax.percent > _TRACE if wax.percent is not None else _word(wax) not in ("wax-none", "wax-minimal")


@asked("wax_much_before", fields=_BEFORE)
def wax_much_before(context: Context) -> Answer:
    """Whether there was so much wax before that nobody would call removal needless."""
    wax = _wax("before", context)
    if extent(wax) is None:
        return None
    return _bands()[_word(wax)].much if wax.percent is None else wax.percent >= _MUCH


@asked("wax_grew", fields=(*_BEFORE, *_AFTER))
def wax_grew(context: Context) -> Answer:
    """Whether there is surely more wax after than before."""
    return _surely_more(_wax("after", context), _wax("before", context))


@asked("wax_fell", fields=(*_BEFORE, *_AFTER))
def wax_fell(context: Context) -> Answer:
    """Whether there is surely less wax after than before."""
    return _surely_more(_wax("before", context), _wax("after", context))


def _surely_more(one: Any, other: Any) -> Answer:
    """Percentages and words each among themselves; a word beside a percentage by its band."""
    first, second = extent(one), extent(other)
    if first is None or second is None:
        return None
    if one.percent is None and other.percent is None:
        ranks = _bands()[_word(one)].rank, _bands()[_word(other)].rank
        if ranks[0] is not None and ranks[1] is not None:
            return ranks[0] > ranks[1]
    return first[0] > second[1]


@asked("wax_fills", fields=("item.wax.percent", "item.wax.amount"))
def wax_fills(context: Context) -> Answer:
    """Whether wax fills the canal at this look: 100 percent, or a word for it and no lower percentage."""
    wax: Any = next(iter(values("item.wax", context)), None)
    if extent(wax) is None:
        return None
    return wax.percent == 100 if wax.percent is not None else _word(wax) == "wax-occluding"


@asked("wax_words_against_percent", fields=("item.amount", "item.percent"))
def wax_words_against_percent(context: Context) -> Answer:
    """Whether the word for the amount cannot stand beside the percentage; none beside a percentage is told by C145."""
    wax = context.item
    if wax.percent is None or not _word(wax):
        return None
    if _slip(wax) or _word(wax) == "wax-none":
        return False
    band = _bands()[_word(wax)]
    return not band.least <= wax.percent <= band.most
