"""Charts, tables and words of hearing tests, judged by what the record says.

Symbols by ASHA (1990) as written out in 21 NCAC 22I .0111: right circle, triangle when masked, for bone an angle that
points left and a bracket open on its right; left cross, square, and the same mirrored; no response: an arrow to the
lower left or right.
Where the crossing of frequency and level lies: an octave is as long as 20 dB.
"""

from __future__ import annotations

import math
import os
import random
import re
from typing import Any
from xml.etree import ElementTree

import pytest

from bridge.render.audiogram import audiograms
from bridge.render.entries import Entries
from bridge.render.page import Grid, Lines, Picture
from bridge.shapes import Json
from tests.render.drawing.visits import Raw, bare
from tests.render.pages import bundle_of

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "120"))
FREQUENCIES = (125, 250, 500, 750, 1000, 1500, 2000, 3000, 4000, 6000, 8000)


def tones(*pairs: tuple[int, float], **more: Any) -> list[Raw]:
    return [{"frequency": f, "level": level, **more} for f, level in pairs]


def bundle(right: list[Raw], left: list[Raw], stage: str = "before", language: str = "en-GB") -> Json:
    ears = {"right": right, "left": left}
    raw = {**bare(), **{ear: {f"hearing_{stage}": {"thresholds": said}} for ear, said in ears.items() if said}}
    made = bundle_of(raw)
    made["entry"][0]["resource"]["language"] = language
    return made


def blocks(*args: Any, **more: Any) -> list[Picture | Grid | Lines]:
    return audiograms(Entries(bundle(*args, **more)))


def points(svg: str) -> list[tuple[str, float, float]]:
    """Path data and place of each symbol, in the sheet's own units."""
    root = ElementTree.fromstring(svg)  # noqa: S314 - our own
    found = []
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        if moved := path.get("transform"):
            x, y = (float(n) for n in re.findall(r"-?[\d.]+", moved))
            found.append((path.get("d", ""), x, y))
    return found


def labelled(svg: str, text: str) -> tuple[float, float]:
    return next(
        (float(x), float(y)) for x, y, t in re.findall(r'<text x="(\S+)" y="(\S+)">(\S+)</text>', svg) if t == text
    )


def test_nothing_without_thresholds() -> None:
    assert audiograms(Entries(bundle_of(bare()))) == []


@pytest.mark.parametrize("start", range(0, MANY, 60))
def test_each_value_is_where_it_belongs_and_in_words(start: int) -> None:
    for seed in range(start, min(start + 60, MANY)):
        rng = random.Random(seed)
        said = {}
        for ear in ("right", "left"):
            chosen = sorted(rng.sample(FREQUENCIES, rng.randrange(0, 8)))
            said[ear] = [
                {"frequency": f, "level": rng.randrange(-10, 121, 5), "conduction": rng.choice(("air", "air", "bone")),
                 "masked": rng.random() < 0.3, "no_response": rng.random() < 0.2}
                for f in chosen
            ]  # fmt: skip
        made = blocks(said["right"], said["left"], rng.choice(("before", "after")))
        charts = [one for one in made if isinstance(one, Picture)]
        assert [c.ear for c in charts] == [ear for ear in ("right", "left") if said[ear]], seed
        for chart in charts:
            _holds(chart, said[str(chart.ear)])
            other = "left" if chart.ear == "right" else "right"
            assert f"{other} ear" not in " ".join([chart.alt, chart.title, *chart.legend]).lower()
        for grid in (one for one in made if isinstance(one, Grid)):
            _table(grid, said)


def _holds(chart: Picture, said: list[Raw]) -> None:
    """Places by the labels of the axes: 250 and 8k, 0 and 120."""
    low, high = labelled(chart.svg, "250")[0], labelled(chart.svg, "8k")[0]
    none, loud = labelled(chart.svg, "0")[1], labelled(chart.svg, "120")[1]
    octave, ten = (high - low) / 5, (loud - none) / 12
    assert octave == pytest.approx(2 * ten)
    shift = none - 2.6
    wanted = sorted((low + octave * math.log2(t["frequency"] / 250), shift + ten * t["level"] / 10) for t in said)
    found = sorted((x, y) for _, x, y in points(chart.svg))
    assert [(pytest.approx(x, abs=0.1), pytest.approx(y, abs=0.1)) for x, y in wanted] == found
    for t in said:
        level = str(t["level"]).replace("-", "−")
        value = f"no response at {level}" if t["no_response"] else level
        assert f"{t['frequency']} Hz {value}" in chart.alt
    arrows = sum("m0-3.6v3.6h" in data for data, _, _ in points(chart.svg))
    assert arrows == sum(t["no_response"] for t in said)
    assert all(("-6 6" in d) == (chart.ear == "right") for d, _, _ in points(chart.svg) if "m0-3.6v3.6h" in d)


def _table(grid: Grid, said: dict[str, list[Raw]]) -> None:
    rows = {row[0]: dict(zip(grid.headings[1:], row[1:], strict=True)) for row in grid.rows}
    total = sum(cell != "–" for row in rows.values() for cell in row.values())
    assert total == sum(len(v) for v in said.values())
    for ear, values in said.items():
        for t in values:
            cell = rows[f"{ear.title()} ear, {t['conduction']} conduction"][str(t["frequency"])]
            assert str(t["level"]).replace("-", "−") in cell
            assert ("masked" in cell) == t["masked"]
            assert ("no response" in cell) == t["no_response"]


SHAPES = {
    ("right", "air", False): "a4.2",
    ("left", "air", False): "l7.6 7.6M",
    ("right", "air", True): "l4.6 8h-9.2z",
    ("left", "air", True): "h7.8v7.8h-7.8z",
    ("right", "bone", False): "l-5 4.4 5 4.4",
    ("left", "bone", False): "l5 4.4-5 4.4",
    ("right", "bone", True): "h-3.6v9.2h3.6",
    ("left", "bone", True): "h3.6v9.2h-3.6",
}
"""Circle, cross, triangle, square, angles that point to their ear’s side, brackets that open to the middle."""


@pytest.mark.parametrize(("ear", "conduction", "masked"), list(SHAPES))
def test_symbols_of_asha(ear: str, conduction: str, masked: bool) -> None:
    one = tones((1000, 40), conduction=conduction, masked=masked)
    made = blocks(one if ear == "right" else [], one if ear == "left" else [], language="en-US")
    assert isinstance(made[0], Picture)
    [(data, _, _)] = points(made[0].svg)
    assert SHAPES[ear, conduction, masked] in data
    others = [s for key, s in SHAPES.items() if key != (ear, conduction, masked)]
    assert not any(s in data for s in others)
    said = f"{conduction} conduction{', masked' if masked else ''}."
    assert made[0].legend == [next(line for line in made[0].legend if line.endswith(said))]


def test_symbols_of_the_uk_and_their_legend() -> None:
    """A triangle is bone conduction here and masked air conduction elsewhere: the legend says which."""
    one = [*tones((1000, 40), masked=True), *tones((500, 40), (2000, 40)), *tones((1000, 30), conduction="bone")]
    made = blocks(one, [])
    assert isinstance(made[0], Picture)
    assert made[0].legend == ["Circle: air conduction, masked where the table says so.", "Triangle: bone conduction."]
    elsewhere = blocks(tones((1000, 40), masked=True), [], language="en-US")
    assert isinstance(elsewhere[0], Picture)
    assert elsewhere[0].legend == ["Triangle: air conduction, masked."]


def lines(*args: Any) -> dict[str, str]:
    found = next(one for one in blocks(*args) if isinstance(one, Lines))
    return {line.subject: line.words for line in found.lines}


def test_averages_in_words() -> None:
    right = tones((250, 20), (500, 25), (1000, 30), (2000, 45), (4000, 60))
    left = tones((250, 10), (500, 15), (1000, 20), (2000, 20), (4000, 25))
    said = lines(right, left)
    assert said["Right ear, five frequencies"].startswith("36 dB HL, mild by")
    assert said["Left ear, five frequencies"].startswith("18 dB HL, within normal by")
    assert said["Right ear, four frequencies"] == "40 dB HL."
    assert said["Grade of the better ear"].startswith("left ear, 20 dB HL: mild by")
    assert lines(right, [])["Grade of the better ear"].startswith("none")
    assert (
        "some editions begin mild at 20"
        in lines(tones(*((f, 20) for f in (250, 500, 1000, 2000, 4000))), [])["Right ear, five frequencies"]
    )
    deaf = [*right[:4], *tones((4000, 90), no_response=True)]
    assert "no response at 4000 Hz" in lines(deaf, left)["Right ear, five frequencies"]
    assert lines(deaf, left)["Grade of the better ear"].startswith("none")
    assert "no threshold is recorded at 250, 500 Hz" in lines(right[2:], left)["Right ear, five frequencies"]


def test_no_word_on_the_kind_of_loss() -> None:
    right = [*tones((500, 60), (1000, 60)), *tones((500, 10), (1000, 10), conduction="bone")]
    words = " ".join(" ".join(lines(right, []).values()).lower().split())
    assert not any(kind in words for kind in ("conductive", "sensorineural", "mixed", "air-bone"))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda r: r.update(status="entered-in-error"),
        lambda r: r["valueQuantity"].update(value="400"),
        lambda r: r["valueQuantity"].update(code="kPa"),
        lambda r: r.pop("bodySite"),
        lambda r: r["code"]["coding"][0].update(code="89016-0"),
        lambda r: r.pop("component"),
    ],
)
def test_what_is_not_clear_is_counted_and_not_drawn(spoil: Any) -> None:
    """89016-0 is the left ear's code at 1000 Hz, beside a right ear as body site."""
    made = bundle(tones((1000, 40), (2000, 50)), [])
    thresholds = [e["resource"] for e in made["entry"] if e["resource"].get("valueQuantity", {}).get("unit") == "dB HL"]
    spoil(thresholds[0])
    found = audiograms(Entries(made))
    assert isinstance(found[0], Picture)
    assert "1000 Hz" not in found[0].alt
    assert isinstance(found[-1], Lines)
    assert found[-1].lines[0].words.startswith("One threshold is not in the chart")


def test_size_and_sameness() -> None:
    full = tones(*((f, 40) for f in FREQUENCIES)) + tones(
        *((f, 30) for f in FREQUENCIES), conduction="bone", masked=True
    )
    first, again = blocks(full, full), blocks(full, full)
    assert first == again
    assert all(len(one.svg) < 6_000 for one in first if isinstance(one, Picture))
