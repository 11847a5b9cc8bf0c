"""Mendings for quantities of every kind: a code has its system, ages and the like have units of their own."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from tests.oracles.seed_definitions import Json

UCUM = "http://unitsofmeasure.org"
UNITS = (
    "mm",
    "kg",
    "Cel",
    "mm[Hg]",
    "10*3/uL",
    "/min",
    "%",
    "{score}",
    "1",
    "mg/dL",
    "dB",
    "[pH]",
    "mL/(min.{1.73_m2})",
    "u[IU]/mL",
)


def _coded(made: Json, maker: Any, units: tuple[str, ...]) -> Json:
    code = maker.choose.choice(units)
    return {
        "value": made.get("value", 1),
        "system": UCUM,
        "code": code,
        **({"unit": code} if maker.likely(0.5) else {}),
    }


def quantity(made: Json, maker: Any) -> Json:
    more = {"comparator": made["comparator"]} if "comparator" in made else {}
    value = made.get("value", Decimal("1.50"))
    return maker.choose.choice(
        (
            {"value": value, **more},
            {"value": value, "unit": "pieces"},
            {**_coded(made, maker, UNITS), **more},
            {"value": value, "system": "https://example.org/units", "code": "pieces"},
            {"_value": {"extension": [{"url": "https://example.org/a", "valueCode": "a"}]}, "unit": "mm"},
        )
    )


def _of(*units: str) -> Callable[[Json, Any], Json]:
    def mend(made: Json, maker: Any) -> Json:
        made = _coded(made, maker, units)
        made["value"] = maker.choose.choice((1, 12, 90))
        return made

    return mend


QUANTITIES: dict[str, Callable[[Json, Any], Json | None]] = {
    "Quantity": quantity,
    "Age": _of("a", "mo", "wk", "d", "h", "min"),
    "Duration": _of("a", "mo", "wk", "d", "h", "min", "s", "ms"),
    "Distance": _of("m", "km", "cm", "[mi_i]"),
    "Count": _of("1"),
}
