"""Place and settings as parts of what they are about: own code, UCUM unit as written, and back again.

Oracle: the record, by hand; UCUM codes by https://ucum.org (edition 2.1): kPa, Cel, mL, s, min, mm. French and gauge
are scales of instruments, with no unit of UCUM here, so they stand as the unit's own words.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from bridge.fhir.own import own_code
from bridge.receive import bundle_to_visits
from tests.care_visits import document, resources, visit

Json = dict[str, Any]
UCUM = "http://unitsofmeasure.org"
PLACE: Json = {
    "third": "outer", "depth": {"value": "12.50", "unit": "mm"}, "clock_from": 3, "clock_to": 6,
    "walls": ["anterior", "floor"], "parts": ["pars tensa"],
}  # fmt: skip
WORK: Json = {
    "method": "microsuction",
    "instruments": [
        {"name": "fine end", "size": {"value": 18, "scale": "G"}, "lot": "L7"},
        {"name": "suction tube", "size": {"value": 6, "scale": "Fr"}},
        {"name": "speculum", "size": {"value": "4.5", "scale": "mm"}},
    ],
    "suction": {"pressure": {"value": 20, "unit": "kPa"}, "taken": "reached", "time": {"value": 90, "unit": "s"}},
    "irrigation": {
        "temperature": {"value": "37.0", "unit": "Cel"}, "pressure": {"value": 30, "unit": "kPa"},
        "volume": {"value": 120, "unit": "mL"}, "tip": "soft tip",
    },
    "attempts": 2, "duration": {"value": 14, "unit": "min"}, "tolerance": "some discomfort",
    "pain_before": 0, "pain_peak": 6, "pain_after": 1,
}  # fmt: skip


def made(ear: str) -> Json:
    finding = {"term": "exostosis", "place": PLACE, "width": {"value": "3", "unit": "mm"}, "percent": 40}
    record = {"before": {"wax": {"amount": "heavy", "percent": 90, "place": PLACE}, "canal": [finding]}, "work": [WORK]}
    of = visit(**{ear: record})
    bundle = document(of)
    assert bundle_to_visits(bundle)[1] == []
    assert bundle_to_visits(bundle)[0] == [of]
    return bundle


def observed(bundle: Json, kind: str) -> list[Json]:
    return [o for o in resources(bundle, "Observation") if own_code(o["code"]) == kind]


def values(observation: Json) -> dict[str, list[Any]]:
    """Values of the components by kind: numbers with their unit, the text of concepts, anything else as it is."""
    found: dict[str, list[Any]] = {}
    for component in observation["component"]:
        (value,) = (v for k, v in component.items() if k.startswith("value"))
        if isinstance(value, dict):
            value = value["text"] if "text" in value else (value["value"], value.get("code"), value["unit"])
        found.setdefault(own_code(component["code"]) or "", []).append(value)
    return found


PLACED = {
    "canal-third": ["outer"], "depth": [(Decimal("12.50"), "mm", "mm")], "clock-from": [3], "clock-to": [6],
    "wall": ["anterior", "floor"], "drum-part": ["pars tensa"],
}  # fmt: skip


@pytest.mark.parametrize("ear", ["right", "left"])
@pytest.mark.parametrize("kind", ["wax-state", "canal-finding"])
def test_a_place_stands_in_the_fact_it_places(ear: str, kind: str) -> None:
    (observation,) = observed(made(ear), kind)
    found = values(observation)
    assert {k: found[k] for k in PLACED} == PLACED
    assert observation["bodySite"]["text"].startswith(ear)


def test_settings_are_part_of_the_work() -> None:
    bundle = made("right")
    (procedure,) = resources(bundle, "Procedure")
    (settings,) = observed(bundle, "procedure-settings")
    assert settings["partOf"] == [{"reference": f"urn:uuid:{procedure['id']}"}]
    assert values(settings) == {
        "attempts": [2],
        "duration": [(14, "min", "min")],
        "suction-pressure": [(20, "kPa", "kPa")],
        "suction-taken": ["as reached when occluded"],
        "suction-time": [(90, "s", "s")],
        "water-temperature": [(Decimal("37.0"), "Cel", "°C")],
        "water-pressure": [(30, "kPa", "kPa")],
        "water-volume": [(120, "mL", "mL")],
        "irrigation-tip": ["soft tip"],
    }
    for component in settings["component"]:
        quantity = component.get("valueQuantity", {})
        assert quantity.get("system", UCUM) == UCUM


def test_each_instrument_has_its_size_on_its_own_scale() -> None:
    found = [(o["valueCodeableConcept"]["text"], values(o)) for o in observed(made("left"), "instrument-used")]
    assert found == [
        ("fine end", {"instrument-size": [(18, None, "G")], "instrument-lot": ["L7"]}),
        ("suction tube", {"instrument-size": [(6, None, "Fr")]}),
        ("speculum", {"instrument-size": [(Decimal("4.5"), "mm", "mm")]}),
    ]


def test_pain_and_tolerance_are_part_of_the_work_and_nought_is_told() -> None:
    bundle = made("right")
    (procedure,) = resources(bundle, "Procedure")
    told = {}
    for kind in ("pain-before", "pain-peak", "pain-after", "tolerance"):
        (observation,) = observed(bundle, kind)
        assert observation["partOf"] == [{"reference": f"urn:uuid:{procedure['id']}"}]
        told[kind] = observation.get("valueInteger", observation.get("valueCodeableConcept", {}).get("text"))
    assert told == {"pain-before": 0, "pain-peak": 6, "pain-after": 1, "tolerance": "some discomfort"}
