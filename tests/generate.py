"""Visits at random, filled field by field from the model itself, so that a new field is covered the day it is made.

`visit(random)` takes a `random.Random`: seeded for large counts, or hypothesis' own for shrinking. It makes
prepared visits (completed and coded), because those are what `build/` gets.
"""

from __future__ import annotations

import random
import types
import typing
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ValidationError

from bridge.visit import Term, Visit
from bridge.visit.base import Coding, Measure, Size

WORDS = (
    "wax", "hard", "claggy", "honey", "?scar", "no discharge", "Zoë", "O’Brien-Ash", "naïve & <b>bold</b>", "李",
    "50% of it", "a \"quoted\" word", "tab\there", "two\nlines", "ß", "x" * 60, "0012", "=1+1", "ear care", "N/A",
)  # fmt: skip
"""Words of any script, with what a careless writer of XML, CSV or HTML would trip over. None names a side."""

NHS_NUMBERS = ("9990000018", "9990000026", "9990000034", "9990000042")
"""Valid and in the test range; recomputed in tests/test_numbers or by hand from the NHS Data Dictionary's rule."""

ASSERTABLE = {"Finding", "Symptom", "Event", "PastEvent", "Impression", "Caution"}
WHENS = (
    "2010", "2011-05", "2024-02-29", "2026-11-03T10:15+00:00", "2026-07-03T10:15:00+01:00", "2026-07-03T10:15:07+01:00",
)  # fmt: skip


def visit(rng: random.Random, fill: float = 0.5) -> Visit:
    """A valid prepared visit; `fill` is how often an optional field is there."""
    for _ in range(200):
        try:
            fields = _model(Visit, rng, "", fill)
            return Visit.model_validate(_agreeing(fields, rng))
        except ValidationError:
            continue
    raise AssertionError("no valid visit in 200 tries")


def _agreeing(fields: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """Makes the parts agree as reading and completing would have made them."""
    fields["number"] = f"V{rng.randrange(10**6)}"
    fields["version"] = rng.choice((1, 1, 2, 7))
    fields["replaces"] = rng.choice((None, fields["version"] - 1)) or None
    fields["start"] = rng.choice(("2026-11-03T10:15+00:00", "2026-11-03T10:15:00+00:00", "2026-11-03"))
    fields["end"] = rng.choice((None, "2026-11-03T10:40+00:00"))
    fields["recorded_at"] = rng.choice((None, "2026-11-03T11:00:05+00:00"))
    staff = {"JM": "Moss", "PS": "Ash"}
    keys = rng.sample(sorted(staff), rng.choice((1, 2)))
    made = [_model(typing.cast(Any, _item(Visit, "practitioners")), rng, "practitioners[0]", 0.6) for _ in keys]
    fields["practitioners"] = [{**p, "key": key} for p, key in zip(made, keys, strict=True)]
    for practitioner in fields["practitioners"]:
        practitioner["registrations"] = rng.choice(([], [{"register_key": "nmc", "number": "99Z0001E"}]))
    fields["approved"] = rng.choice((None, {"by": keys[0], "at": "2026-11-03T12:00+00:00"}))
    fields["source_sha256"] = rng.choice((None, f"{rng.getrandbits(256):064x}"))
    fields["no_request"] = not fields.get("requests") and rng.random() < 0.5
    client = fields["client"]
    client["nhs_number"] = rng.choice((None, *NHS_NUMBERS))
    client["nhs_number_status"] = rng.choice(("01", "02")) if client["nhs_number"] else None
    client["birth_date"] = rng.choice(("1950", "1951-02", "1952-03-04"))
    for ear in ("right", "left"):
        for work in (fields.get(ear) or {}).get("work", ()):
            work["practitioner"] = rng.choice((None, *keys)) if len(keys) == 2 else None
    return fields


def _item(model: type[BaseModel], name: str) -> Any:
    return typing.get_args(model.model_fields[name].annotation)[0]


def _model(model: type[BaseModel], rng: random.Random, path: str, fill: float) -> dict[str, Any]:
    if model is Term:
        return _term(rng, path)
    if model is Measure:
        return {"value": Decimal(rng.randrange(1, 9999)).scaleb(-rng.randrange(3)), "unit": _unit(path)}
    if model is Size:
        return {"value": Decimal(rng.randrange(1, 99)).scaleb(-1), "scale": rng.choice(("mm", "Fr", "G"))}
    for _ in range(200):
        fields = {}
        for name, field in model.model_fields.items():
            here = f"{path}.{name}" if path else name
            if field.is_required() or rng.random() < fill:
                whole = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
                value = _value(whole, rng, here, fill * 0.9, model.__name__)
                if value is not None:
                    fields[name] = value
        try:
            model.model_validate(fields)
            return fields
        except ValidationError:
            fill = rng.random()
    raise AssertionError(f"no valid {model.__name__} in 200 tries")


def _unit(path: str) -> str:
    return "mm" if path.endswith("depth") else "s"


def _term(rng: random.Random, path: str) -> dict[str, Any]:
    codings = [Coding(system="http://snomed.info/sct", code="17621005", display="Normal")] * rng.randrange(2)
    return {"text": rng.choice(WORDS), "codings": [c.model_dump() for c in codings]}


def _value(annotation: Any, rng: random.Random, path: str, fill: float, owner: str) -> Any:
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return _value(next(a for a in args if a is not type(None)), rng, path, fill, owner)
    if origin is Annotated:
        return _text(annotation, rng) if args[0] is str else _value(args[0], rng, path, fill, owner)
    if origin is Literal:
        return rng.choice(args)
    if origin is tuple:
        return [_value(args[0], rng, f"{path}[{i}]", fill, owner) for i in range(rng.choice((1, 1, 2)))]
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        made = _model(annotation, rng, path, fill)
        if annotation is Term and owner in ASSERTABLE and path.endswith("term"):
            made["assertion"] = rng.choice(("present", "present", "suspected", "absent", "past", None))
        if annotation is Term and owner == "Product" and path.endswith("name"):
            made["assertion"] = rng.choice((None, None, "suspected", "absent", "past"))  # stated needs none
        return made
    if annotation is bool:
        return rng.random() < 0.5
    if annotation is int:
        return rng.randrange(1, 11)
    if annotation is Decimal:
        return Decimal(rng.randrange(1, 99))
    return _text(annotation, rng)


def _text(annotation: Any, rng: random.Random) -> str:
    return rng.choice(WHENS if "check_when" in repr(annotation) else WORDS)
