"""The drawing as a file: safe to put into a page with others, small, the same every time, and readable in grey."""

from __future__ import annotations

import copy
import io
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from bridge.render.drawing import drawings
from bridge.render.entries import Entries
from bridge.render.page import Picture
from bridge.shapes import Json
from tests.render.drawing.test_marks import term
from tests.render.drawing.visits import Maker, Raw, bare
from tests.render.pages import bundle_of

GOLDEN = Path(__file__).parent / "golden"
ELEMENTS = {"svg", "g", "path", "circle", "rect", "text"}
ATTRIBUTES = {
    "viewBox", "font-family", "text-anchor", "fill", "data-mark", "data-n",
    "stroke", "stroke-width", "stroke-linejoin", "stroke-linecap",
    "stroke-dasharray", "d", "cx", "cy", "r", "x", "y", "rx", "width", "height", "font-size", "font-weight",
    "transform",
}  # fmt: skip
"""Nothing that a page could take for its own: no ids, classes, styles, links or scripts."""


def place(**words: Any) -> Raw:
    return {"place": words}


EXAMPLES: dict[str, Raw] = {
    "impacted": {
        "view": {"achieved": "partial", "reason": term("view-reason-wax")},
        "wax": {"amount": term("wax-impacted"), "percent": 95, **place(third=term("third-inner"))},
        "canal": {"answer": "normal"},
        "drum": {"answer": "not seen", "reason": term("view-reason-wax")},
    },
    "growths": {
        "wax": {
            "amount": term("wax-small"),
            "percent": 20,
            **place(clock_from=5, clock_to=7, third=term("third-outer")),
        },
        "canal": {
            "findings": [
                {"term": term("canal-exostoses"), **place(third=term("third-middle"), walls=[term("wall-all")])},
                {"term": term("canal-hair-dense"), **place(third=term("third-outer"), walls=[term("wall-superior")])},
                {"term": term("canal-polyp", "suspected"), **place(depth={"value": 18, "unit": "mm"})},
                {"term": term("canal-dry-skin")},
            ]
        },
        "drum": {"answer": "normal"},
    },
    "drum": {
        "wax": {"amount": term("wax-none")},
        "canal": {"answer": "normal"},
        "drum": {
            "findings": [
                {"term": term("drum-perforation"), "percent": 10, **place(parts=[term("part-posteroinferior")])},
                {"term": term("drum-tympanosclerosis"), **place(parts=[term("part-posterosuperior")])},
                {"term": term("drum-attic-retraction", "suspected")},
                {"term": term("drum-tube"), **place(clock_from=4, clock_to=5)},
            ]
        },
    },
}


def both(seen: Raw) -> list[Picture]:
    return drawings(Entries(bundle_of({**bare(), "right": {"before": seen}, "left": {"before": seen}})))


@cache
def made(first: int, last: int) -> tuple[Picture, ...]:
    return tuple(p for seed in range(first, last) for p in drawings(Entries(bundle_of(Maker(seed).visit()))))


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_golden(name: str) -> None:
    """Look at the drawings before you write them anew: they are what a doctor sees."""
    for picture in both(EXAMPLES[name]):
        path = GOLDEN / f"{name}.{picture.ear}.svg"
        assert picture.svg + "\n" == path.read_text(encoding="utf-8"), path.name


def test_nothing_but_shapes() -> None:
    for picture in made(0, 60):
        for element in ElementTree.fromstring(picture.svg).iter():  # noqa: S314 - our own
            assert element.tag.removeprefix("{http://www.w3.org/2000/svg}") in ELEMENTS
            assert set(element.attrib) <= ATTRIBUTES, element.attrib


def test_small() -> None:
    """Six thousand bytes for what a visit has; more only where somebody wrote down a dozen findings of one ear."""
    for name, seen in EXAMPLES.items():
        assert all(len(p.svg.encode()) < 6_000 for p in both(seen)), name
    sizes = sorted(len(p.svg.encode()) for p in made(0, 60))
    assert sizes[int(len(sizes) * 0.9)] < 6_000
    assert sizes[-1] < 9_000


def test_same_bytes_every_time() -> None:
    assert [p.svg for p in both(EXAMPLES["growths"])] == [p.svg for p in both(copy.deepcopy(EXAMPLES["growths"]))]


def test_words_are_escaped() -> None:
    from bridge.wording import Catalogue, catalogue, speaking

    words = {**catalogue("en").words, "drawing.letter.front": "<b>&", "drawing.label.all.not-seen": "a<b"}
    with speaking(Catalogue("en", "English", True, words)):
        picture = both(EXAMPLES["impacted"])[0]
    texts = [t.text for t in ElementTree.fromstring(picture.svg).iter("{http://www.w3.org/2000/svg}text")]  # noqa: S314
    assert "<b>&" in texts
    assert "a<b" in texts


def _spoilt(value: Any, choose: Any) -> Any:
    """The data with a value of another type here and there."""
    if choose() < 0.03:
        return [None, 7, -1e308, "NaN", "", [], {}, [{}], {"value": "x" * 500}, True][int(choose() * 10)]
    if isinstance(value, dict):
        return {k: _spoilt(v, choose) for k, v in value.items()}
    return [_spoilt(v, choose) for v in value] if isinstance(value, list) else value


def test_shapes_that_are_wrong_end_in_no_fault() -> None:
    import random

    for seed in range(150):
        choose = random.Random(seed).random
        bundle: Json = bundle_of(Maker(seed % 10).visit())
        for entry in bundle["entry"]:
            if entry["resource"]["resourceType"] == "Observation":
                kept = ("resourceType", "code", "bodySite")
                spoilt = {k: v if k in kept else _spoilt(v, choose) for k, v in entry["resource"].items()}
                entry["resource"] = spoilt
        for picture in drawings(Entries(bundle)):
            ElementTree.fromstring(picture.svg)  # noqa: S314 - our own


def test_what_is_not_in_force_is_not_drawn() -> None:
    bundle = bundle_of({**bare(), "right": {"before": EXAMPLES["drum"]}})
    for entry in bundle["entry"]:
        if entry["resource"]["resourceType"] == "Observation":
            entry["resource"]["status"] = "entered-in-error"
    pictures = drawings(Entries(bundle))
    assert "data-n" not in "".join(p.svg for p in pictures)
    said = " ".join(p.alt for p in pictures)
    assert (
        said.count("the word drum-perforation")
        == said.count("entered in error, not to be used: the word drum-perforation")
        > 0
    )
    assert "looked normal" not in said


def grey(svg: str) -> Any:
    """The drawing in shades of grey as typst draws it, 60 mm wide at 300 points an inch."""
    import typst
    from PIL import Image

    source = (
        '#set page(width: 60mm, height: auto, margin: 0mm)\n#image(bytes(sys.inputs.svg), format: "svg", width: 60mm)'
    )
    png = typst.compile(source.encode(), format="png", ppi=300.0, sys_inputs={"svg": svg})
    return Image.open(io.BytesIO(png)).convert("L")


def test_readable_in_grey() -> None:
    """Wax, hatching and a hole differ from the empty canal and the plain drum by far more than a scan blurs."""
    impacted, drum = grey(both(EXAMPLES["impacted"])[0].svg), grey(both(EXAMPLES["drum"])[0].svg)
    unit = impacted.width / 102

    def shade(image: Any, x: float, y: float, reach: float = 2.5) -> float:
        box = tuple(round(v * unit) for v in (x - reach, y - reach, x + reach, y + reach))
        cells = list(image.crop(box).tobytes())
        return sum(cells) / len(cells)

    wax, empty = shade(impacted, 48, 18), shade(impacted, 22, 17)
    hatched, plain = shade(impacted, 75, 13.5, 1.5), shade(drum, 87.3, 16.5, 1.5)
    assert empty > 250
    assert empty - wax > 50
    assert plain - hatched > 40
    hole = shade(drum, 81.4 - 10.6 * 0.55 * 0.7071, 19.4 + 10.6 * 0.55 * 0.7071, 1)
    assert hole < 60
