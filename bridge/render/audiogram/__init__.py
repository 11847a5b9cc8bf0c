"""Hearing tests as audiograms, with all values in a table and the averages that they allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.render.audiogram.averages import NEEDED, Average, Scheme, average, band, better, shown
from bridge.render.audiogram.chart import chart
from bridge.render.audiogram.facts import Threshold, thresholds
from bridge.render.audiogram.symbols import shape
from bridge.render.entries import Entries
from bridge.render.page import Grid, Line, Lines, Picture
from bridge.wording import say, say_number

__all__ = ["audiograms"]


def audiograms(entries: Entries) -> list[Picture | Grid | Lines]:
    """For each stage with thresholds: a chart for each ear that has some, right ear first, the table, the averages."""
    found, unclear = thresholds(entries.resources)
    blocks: list[Picture | Grid | Lines] = []
    for stage in STAGES:
        here = [t for t in found if t.stage == stage]
        if here:
            blocks += [
                _picture(mine, entries.region.name) for ear in EARS if (mine := [t for t in here if t.ear == ear])
            ]
            blocks += [_grid(here, stage), _averages(here, stage)]
    if unclear:
        blocks.append(Lines([Line("", say_number("audiogram.unclear", unclear))]))
    return blocks


def _picture(mine: list[Threshold], region: str) -> Picture:
    ear, stage = mine[0].ear, mine[0].stage
    title = say(f"audiogram.title.{ear}.{stage}")
    masked = {(t.conduction, shape(t, region)) for t in mine if t.masked}
    legend = list(dict.fromkeys(_symbol(t, region, (t.conduction, shape(t, region)) in masked) for t in mine))
    if any(not t.response for t in mine):
        legend.append(say("audiogram.arrow"))
    alt = " ".join([say("audiogram.alt", title=title), *legend, *(_spoken(mine, c) for c in ("air", "bone"))])
    return Picture(chart(mine, region), alt.strip(), title, legend, ear)


def _symbol(threshold: Threshold, region: str, masked: bool) -> str:
    """`masked`: whether this symbol stands for a masked threshold anywhere in the chart."""
    name, conduction = shape(threshold, region), threshold.conduction
    other = shape(replace(threshold, masked=not threshold.masked), region)
    kind = "" if not masked else ".masked-or-not" if name == other else ".masked"
    return say("audiogram.symbol", symbol=say(f"audiogram.symbol.{name}"), what=say(f"audiogram.{conduction}{kind}"))


def _spoken(mine: list[Threshold], conduction: str) -> str:
    values = "; ".join(say("audiogram.at", hz=t.frequency, value=_value(t)) for t in mine if t.conduction == conduction)
    return say(f"audiogram.values.{conduction}", values=values) if values else ""


def _grid(here: list[Threshold], stage: Stage) -> Grid:
    """A row for each ear and way of conduction."""
    frequencies = sorted({t.frequency for t in here})
    rows = []
    for ear in EARS:
        for conduction in ("air", "bone"):
            mine = [t for t in here if t.ear == ear and t.conduction == conduction]
            cells = ["; ".join(_value(t) for t in mine if t.frequency == f) or "–" for f in frequencies]
            rows += [[say(f"audiogram.row.{ear}.{conduction}"), *cells]] if mine else []
    return Grid([say("audiogram.hz"), *map(str, frequencies)], rows, say(f"audiogram.table.{stage}"))


def _value(threshold: Threshold) -> str:
    level = _plain(threshold.level)
    if not threshold.response:
        return say("audiogram.none-at.masked" if threshold.masked else "audiogram.none-at", level=level)
    return say("audiogram.masked-level", level=level) if threshold.masked else level


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", "−")


def _averages(here: Sequence[Threshold], stage: Stage) -> Lines:
    by_scheme = {scheme: {ear: average(here, ear, scheme) for ear in EARS} for scheme in NEEDED}
    heard = [ear for ear in EARS if any(t.ear == ear and t.conduction == "air" for t in here)]
    lines = []
    for scheme, averages in by_scheme.items():
        lines += [Line(say(f"audiogram.{scheme}.{ear}"), _average(averages[ear], scheme)) for ear in heard]
    if heard:
        lines.append(Line(say("audiogram.grade"), _grade(by_scheme["who"])))
        lines.append(Line("", say("audiogram.sources")))
    else:
        lines.append(Line("", say("audiogram.no-air")))
    return Lines(lines, say(f"audiogram.averages.{stage}"))


def _average(found: Average, scheme: Scheme) -> str:
    if found.mean is None:
        frequencies = ", ".join(map(str, found.frequencies))
        return say(f"audiogram.why.{found.why}", hz=frequencies)
    level = shown(found.mean, scheme)
    if scheme == "who":
        return say("audiogram.mean", level=_plain(level))
    key = "audiogram.bsa.edge" if level == 20 else "audiogram.bsa"
    return say(key, level=_plain(level), band=say(f"audiogram.bsa.band.{band(found.mean, scheme)}"))


def _grade(averages: dict[Ear, Average]) -> str:
    found = better(averages)
    if found is None:
        return say("audiogram.no-grade")
    ears, mean = found
    which = "both" if len(ears) > 1 else ears[0]
    grade = say(f"audiogram.who.band.{band(mean, 'who')}")
    return say(f"audiogram.grade.{which}", level=_plain(shown(mean, "who")), band=grade)
