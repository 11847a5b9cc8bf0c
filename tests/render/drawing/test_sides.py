"""Every ear's facts lie in that ear's drawing, on their own side of it: many records, judged from outside.

`VISIT_BRIDGE_MANY=10000 python -m pytest tests/render/drawing/test_sides.py` runs the full count.
"""

from __future__ import annotations

import copy
import os
from collections import Counter
from typing import Any

import pytest

from bridge.render.drawing import drawings
from bridge.render.entries import Entries
from bridge.render.page import Picture
from tests.render.drawing.judge import faults
from tests.render.drawing.visits import Maker, Raw
from tests.render.pages import bundle_of

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "80"))
BATCH = max(20, MANY // 40)


def drawn(raw: Raw) -> list[Picture]:
    return drawings(Entries(bundle_of(raw)))


@pytest.mark.parametrize("start", range(0, MANY, BATCH))
def test_drawings_show_what_the_records_say(start: int) -> None:
    for seed in range(start, min(start + BATCH, MANY)):
        raw = Maker(seed).visit()
        assert faults(raw, drawn(raw)) == [], f"seed {seed}"


def test_the_records_hold_what_is_judged() -> None:
    found: Counter[str] = Counter()

    def count(value: Any) -> None:
        if isinstance(value, dict):
            found.update(str(value[k]) for k in ("answer", "assertion", "achieved", "code") if k in value)
            found.update(
                k for k in value if k in ("clock_from", "clock_to", "third", "depth", "walls", "parts", "percent")
            )
            for inner in value.values():
                count(inner)
        elif isinstance(value, list):
            for inner in value:
                count(inner)

    for seed in range(300):
        count(Maker(seed).visit())
    wanted = ["normal", "not seen", "not examined", "present", "suspected", "absent", "past", "none", "partial"]
    wanted += ["clock_from", "clock_to", "third", "depth", "walls", "parts", "percent", "wall-anterior", "third-outer"]
    wanted += ["part-anterosuperior", "part-posteroinferior", "drum-perforation", "canal-exostoses"]
    assert min(found[w] for w in wanted) > 2, {w: found[w] for w in wanted}


def rich(ear: str) -> Raw:
    """A record of one ear in which each side shows."""
    maker = Maker(1)
    raw = Maker(0).visit() | {"right": {}, "left": {}}
    term = maker.term
    seen = {
        "wax": {
            "amount": term("wax-moderate"),
            "place": {"third": term("third-outer"), "walls": [term("wall-anterior")]},
        },
        "canal": {"findings": [{"term": term("canal-osteoma", "present"), "place": {"clock_from": 2, "clock_to": 3}}]},
        "drum": {
            "findings": [
                {"term": term("drum-perforation", "present"), "place": {"parts": [term("part-anteroinferior")]}},
                {
                    "term": term("drum-retraction-pocket", "suspected"),
                    "place": {"parts": [term("part-posterosuperior")]},
                },
            ]
        },
    }
    other = "left" if ear == "right" else "right"
    return {**raw, ear: {"before": seen}, other: {"before": {"drum": {"answer": "not examined"}}}}


def test_the_judge_is_content_with_the_rich_record() -> None:
    for ear in ("right", "left"):
        assert faults(rich(ear), drawn(rich(ear))) == []


@pytest.mark.parametrize("ear", ["right", "left"])
def test_the_judge_sees_each_kind_of_wrong(ear: str) -> None:
    """Each change of the record, judged against the drawings of the unchanged one, must be seen."""
    pictures = drawn(rich(ear))
    other = "left" if ear == "right" else "right"

    def changed(change: Any) -> list[str]:
        raw = copy.deepcopy(rich(ear))
        change(raw[ear]["before"], raw)
        return faults(raw, pictures)

    def recode(term: Raw, code: str) -> None:
        term["codings"][0]["code"] = code

    assert changed(lambda seen, raw: raw.update({ear: raw[other], other: raw[ear]}))
    assert changed(lambda seen, raw: seen["canal"]["findings"][0]["place"].update(clock_from=9, clock_to=10))
    assert changed(lambda seen, raw: recode(seen["wax"]["place"]["walls"][0], "wall-posterior"))
    assert changed(lambda seen, raw: recode(seen["wax"]["place"]["third"], "third-inner"))
    assert changed(lambda seen, raw: recode(seen["drum"]["findings"][0]["place"]["parts"][0], "part-posteroinferior"))
    assert changed(lambda seen, raw: recode(seen["drum"]["findings"][0]["place"]["parts"][0], "part-anterosuperior"))
    assert changed(lambda seen, raw: seen["drum"]["findings"][1]["term"].update(assertion="present"))
    assert changed(lambda seen, raw: seen["drum"]["findings"][0]["term"].update(assertion="absent"))
    assert changed(lambda seen, raw: seen["canal"]["findings"].pop())
    for answer in ("normal", "not seen"):
        assert changed(lambda seen, raw, a=answer: raw[other]["before"]["drum"].update(answer=a))
    assert changed(lambda seen, raw: seen.update(wax={"answer": "not seen"}))


def test_a_drawing_turned_over_is_seen() -> None:
    """The words of one ear over the other ear's drawing."""
    right, left = drawn(rich("right"))[0], drawn(rich("left"))[1]
    assert right.svg != left.svg
    turned = Picture(left.svg, right.alt, right.title, right.legend, "right")
    assert faults(rich("right"), [turned, drawn(rich("right"))[1]])
