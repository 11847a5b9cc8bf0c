"""Whether something in the outer or middle ear explains a hearing loss, judged after clearing.

What counts follows NICE NG98 1.1.2 (not explained by acute causes of the outer or middle ear) and the earwax guideline
of AAO-HNS, key action 9 (symptoms that stay after clearing have another cause); tuning forks as textbooks have them.
"""

from __future__ import annotations

from typing import Any

import pytest

from bridge.check.clinical.asked.loss_explained import loss_explained
from bridge.check.clinical.context import Context
from tests.check.clinical.test_cases import over, visit_of

WAX = {"before": {"wax": "impacted"}}
DONE: dict[str, Any] = {**WAX, "work": [{"method": "microsuction", "outcome": "complete"}], "after": {"wax": "none"}}
PARTLY: dict[str, Any] = {**WAX, "work": [{"method": "microsuction", "outcome": "partial"}]}
CLEAR = {"before": {"wax": "none", "drum": "normal"}}


def air(*levels: int) -> dict[str, Any]:
    pairs = zip((500, 1000, 2000, 4000), levels, strict=False)
    return {"thresholds": [{"frequency": f, "level": level} for f, level in pairs]}


EXPLAINED: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "cleared and better": ({**DONE, "hearing_change": "better"}, {}),
    "cleared by the look afterwards, better": ({**WAX, "after": {"wax": "none"}, "hearing_change": "better"}, {}),
    "second try complete": (
        {**DONE, "work": [{"method": "instruments", "outcome": "partial"}, *DONE["work"]], "hearing_change": "better"},
        {},
    ),
    "thresholds better": ({**DONE, "hearing_before": air(50, 50, 50), "hearing_after": air(40, 40, 40)}, {}),
    "effusion": ({"impressions": ["OME"]}, {}),
    "fluid level": ({"before": {"drum": ["fluid level"]}}, {}),
    "acute otitis media": ({"impressions": ["AOM"]}, {}),
    "perforation": ({"before": {"drum": ["perforation"]}}, {}),
    "conductive loss": ({"impressions": ["conductive hearing loss"]}, {}),
    "otitis externa with a swollen canal": ({"impressions": ["OE"], "before": {"canal": ["swollen"]}}, {}),
    "forks point to conduction": ({**PARTLY, "hearing_before": {"rinne": "negative"}}, {"weber": "right"}),
    "cleared, no gain, but an effusion behind": ({**DONE, "hearing_change": "same", "impressions": ["OME"]}, {}),
    "forks after clearing": (
        {**DONE, "hearing_change": "same", "hearing_after": {"rinne": "negative"}},
        {"weber": "right"},
    ),
}
NOT_EXPLAINED: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "cleared and the same": ({**DONE, "hearing_change": "same"}, {}),
    "cleared and worse": ({**DONE, "hearing_change": "worse"}, {}),
    "thresholds no better": ({**DONE, "hearing_before": air(50, 50), "hearing_after": air(50, 45)}, {}),
    "clear canal and normal drum": (CLEAR, {}),
    "sensorineural": ({"impressions": ["SNHL"]}, {}),
    "forks point to the nerve": ({**PARTLY, "hearing_before": {"rinne": "positive"}}, {"weber": "left"}),
    "conduction before clearing, no gain after": (
        {**DONE, "hearing_change": "same", "hearing_before": {"rinne": "negative"}},
        {"weber": "right"},
    ),
    "intact, pearl grey, hardly any wax": ({"before": {"wax": "minimal", "drum": ["intact", "pearl grey"]}}, {}),
    "a quarter of the canal": ({"before": {"wax": {"percent": 25}, "drum": ["intact"]}}, {}),
    "wax called zero percent": ({"before": {"wax": {"percent": 0}, "drum": "normal"}}, {}),
}
NOT_KNOWN: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "nothing said": ({"symptoms": ["hearing loss"]}, {}),
    "nothing said after clearing": (DONE, {}),
    "client cannot say": ({**DONE, "hearing_change": "unsure"}, {}),
    "wax left": ({**PARTLY, "hearing_change": "better"}, {}),
    "not removed": ({**WAX, "work": [{"method": "microsuction", "outcome": "not attempted"}]}, {}),
    "complete, but wax left": ({**DONE, "after": {"wax": "moderate"}, "hearing_change": "better"}, {}),
    "complete, then partial": (
        {**DONE, "work": [*DONE["work"], {"method": "instruments", "outcome": "partial"}], "hearing_change": "same"},
        {},
    ),
    "better, thresholds worse": (
        {**DONE, "hearing_change": "better", "hearing_before": air(40, 40), "hearing_after": air(55, 55)},
        {},
    ),
    "same, thresholds better": (
        {**DONE, "hearing_change": "same", "hearing_before": air(60, 60), "hearing_after": air(40, 40)},
        {},
    ),
    "thresholds between gain and none": ({**DONE, "hearing_before": air(50), "hearing_after": air(43)}, {}),
    "other frequencies after than before": (
        {**DONE, "hearing_before": air(50), "hearing_after": {"thresholds": [{"frequency": 4000, "level": 50}]}},
        {},
    ),
    "better, and worse as an event": (
        {
            **DONE,
            "work": [{"method": "microsuction", "outcome": "complete", "events": ["hearing worse"]}],
            "hearing_change": "better",
        },
        {},
    ),
    "better, forks against it": (
        {**DONE, "hearing_change": "better", "hearing_before": {"rinne": "positive"}},
        {"weber": "left"},
    ),
    "forks contradict each other": (
        {"impressions": ["OME"], "hearing_before": {"rinne": "negative"}},
        {"weber": "left"},
    ),
    "effusion and sensorineural": ({"impressions": ["OME", "SNHL"]}, {}),
    "mixed loss": ({"impressions": ["mixed hearing loss"]}, {}),
    "effusion only suspected": ({"impressions": ["?OME"]}, {}),
    "effusion denied": ({"impressions": ["no effusion"]}, {}),
    "effusion suspected, ear clear": ({**CLEAR, "impressions": ["?OME"]}, {}),
    "otitis externa, canal not swollen": ({"impressions": ["OE"]}, {}),
    "clear canal, drum not recorded": ({"before": {"wax": "none"}}, {}),
    "clear canal, drum seen in part": ({"before": {"wax": "none", "drum": {"answer": "normal", "seen": "partly"}}}, {}),
    "normal drum, wax not recorded": ({"before": {"drum": "normal"}}, {}),
    "normal drum beside wax": ({"before": {"wax": "small", "drum": "normal"}}, {}),
    "more than a quarter": ({"before": {"wax": {"percent": 26}, "drum": "normal"}}, {}),
    "intact, but dull": ({"before": {"wax": "none", "drum": ["intact", "dull"]}}, {}),
    "pearl grey, and not said to be whole": ({"before": {"wax": "none", "drum": ["pearl grey"]}}, {}),
    "normal drum, retracted": ({"before": {"wax": "none", "drum": ["normal", "retracted"]}}, {}),
}
ALL = [
    pytest.param(ear, visit, wanted, id=f"{wanted}: {name}")
    for wanted, cases in ((True, EXPLAINED), (False, NOT_EXPLAINED), (None, NOT_KNOWN))
    for name, (ear, visit) in cases.items()
]


@pytest.mark.parametrize(("ear", "visit", "wanted"), ALL)
def test_explained(ear: dict[str, Any], visit: dict[str, Any], wanted: bool | None) -> None:
    assert loss_explained(Context(visit_of(over({"right": ear}, visit))).at_ear("right")) is wanted


@pytest.mark.parametrize(("ear", "visit", "wanted"), ALL)
def test_the_other_ear_is_not_touched(ear: dict[str, Any], visit: dict[str, Any], wanted: bool | None) -> None:
    mirrored = {"weber": {"right": "left", "left": "right"}[visit["weber"]]} if visit else {}
    found = Context(visit_of({"left": ear, "right": {"symptoms": ["itch"]}, **mirrored}))
    assert loss_explained(found.at_ear("left")) is wanted
    assert loss_explained(found.at_ear("right")) is None
