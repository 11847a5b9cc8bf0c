"""The tables of the drawing: which mark, where, how high the wax."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from bridge.data import load_csv, table_path


class Mark(NamedTuple):
    """The mark of a meaning, and where its meaning alone places it."""

    name: str
    place: str


class Spot(NamedTuple):
    """A place by the clock of a right ear; `hour` None where it has no one spot."""

    hour: float | None
    radius: float


@cache
def _marks() -> dict[str, Mark]:
    return {row["concept"]: Mark(row["mark"], row["place"]) for row in load_csv(table_path("drawing", "marks.csv"))}


def mark(concept: str) -> Mark:
    """A meaning that the table does not know has a spot, where a place was recorded."""
    return _marks().get(concept, Mark("spot", ""))


@cache
def thirds() -> dict[str, tuple[float, float]]:
    """First and last share of the canal's length."""
    rows = load_csv(table_path("drawing", "places.csv"))
    return {row["concept"]: (float(row["from"]), float(row["to"])) for row in rows if row["field"] == "canal-third"}


@cache
def spots() -> dict[str, Spot]:
    """Walls and parts of the drum."""
    rows = load_csv(table_path("drawing", "places.csv"))
    return {
        row["concept"]: Spot(float(row["hour"]) if row["hour"] else None, float(row["radius"] or 0))
        for row in rows
        if row["field"] != "canal-third"
    }


@cache
def wax_heights() -> dict[str, int | None]:
    """Percent of the canal's width by the word for the amount; None where the word does not say."""
    rows = load_csv(table_path("drawing", "wax.csv"))
    return {row["concept"]: int(row["percent"]) if row["percent"] else None for row in rows}
