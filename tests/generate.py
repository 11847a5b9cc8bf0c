"""Visits at random, filled field by field from the model itself, so that a new field is covered the day it is made.

`visit(random)` takes a `random.Random`: seeded for large counts, or hypothesis' own for shrinking. It makes
prepared visits (completed and coded), because those are what `build/` gets.

`python -m tests.generate --counts 2000` prints how often each value of a closed field occurred, and how many words
of each kind of the term maps.
"""

from __future__ import annotations

import argparse
import random
import sys
import types
import typing
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ValidationError

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Assertion
from bridge.fhir.nothing import NONE
from bridge.fhir.own import coding
from bridge.fhir.systems import OWN
from bridge.visit import Term, Visit, terms_of
from bridge.visit.base import Coding, Measure, Size
from bridge.visit.ear import EarRecord
from bridge.visit.people import NhsStatus
from tests.fields import pattern, plain_type

WORDS = (
    "wax", "hard", "clarty", "honey", "?scar", "no discharge", "Zoë", "O’Brien-Ash", "naïve & <b>bold</b>", "李",
    "50% of it", "a \"quoted\" word", "tab\there", "two\nlines", "ß", "x" * 60, "0012", "=1+1", "ear care", "N/A",
)  # fmt: skip
"""Words of any script, with what a careless writer of XML, CSV or HTML would trip over. None names a side."""

NHS_NUMBERS = ("9990000018", "9990000026", "9990000034", "9990000042")
"""Valid and in the test range; recomputed in tests/test_numbers or by hand from the NHS Data Dictionary's rule."""

PEOPLE = ("mother", "Mum", "father", "wife", "legal guardian", "LPA", "neighbour", "carer", "client", "x" * 40)
ASKS = (
    "Please record the perforation", "code: exostosis", "Could you update the record, please", "copy this to audiology",
    "Please examine the drum", "look at the ear and record it", "please", "prescribe drops",
)  # fmt: skip
"""Asks about the record, clinical ones, and both in one."""
BY_FIELD = {"relationship": PEOPLE, "to": PEOPLE, "action": ASKS}

ASSERTABLE = {"Finding", "Symptom", "Event", "PastEvent", "Impression", "Caution"}
DOUBTABLE = {"Product", "Allergy"}
"""Terms that need no assertion where they are stated."""
DOUBTS = ("suspected", "absent", "past")
WHENS = (
    "2010", "2011-05", "2024-02-29", "2026-11-03T10:15+00:00", "2026-07-03T10:15:00+01:00", "2026-07-03T10:15:07+01:00",
)  # fmt: skip


def visit(rng: random.Random, fill: float = 0.5) -> Visit:
    """A valid prepared visit; `fill` is how often an optional field is there."""
    for _ in range(200):
        try:
            fields = _with_ears(_model(Visit, rng, "", fill), rng, fill)
            return Visit.model_validate(_agreeing(fields, rng))
        except ValidationError:
            continue
    raise AssertionError("no valid visit in 200 tries")


def _with_ears(fields: dict[str, Any], rng: random.Random, fill: float) -> dict[str, Any]:
    """Both ears more often than chance would keep them: whole visits with ears fail more often than those without."""
    for ear in EARS:
        for _ in range(6 if ear not in fields and rng.random() < 0.85 else 0):
            whole = {**fields, ear: _model(EarRecord, rng, ear, fill)}
            try:
                Visit.model_validate(whole)
            except ValidationError:
                continue
            fields = whole
            break
    return fields


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
    if rng.random() < 0.2:
        fields["family_doctor"] = {"answer": rng.choice(("none", "unknown", "abroad")), "note": rng.choice((None, "ß"))}
    client = fields["client"]
    client["nhs_number"] = rng.choice((None, *NHS_NUMBERS))
    client["nhs_number_status"] = rng.choice(typing.get_args(NhsStatus)) if client["nhs_number"] else None
    client["birth_date"] = rng.choice(("1950", "1951-02", "1952-03-04"))
    for ear in ("right", "left"):
        for impression in (fields.get(ear) or {}).get("impressions", ()):
            if _stands_for_nothing(impression["term"]):
                impression["standing"] = False
        for work in (fields.get(ear) or {}).get("work", ()):
            work["practitioner"] = rng.choice((None, *keys)) if len(keys) == 2 else None
    return fields


def _item(model: type[BaseModel], name: str) -> Any:
    return typing.get_args(model.model_fields[name].annotation)[0]


def _model(model: type[BaseModel], rng: random.Random, path: str, fill: float) -> dict[str, Any]:
    if model is Term:
        return _term(rng, path)
    if model is Measure:
        return {"value": Decimal(rng.randrange(1, 9999)).scaleb(-rng.randrange(3)), "unit": rng.choice(units_of(path))}
    if model is Size:
        return {"value": Decimal(rng.randrange(1, 99)).scaleb(-1), "scale": rng.choice(("mm", "Fr", "G"))}
    if model.__name__ in _PLAIN and rng.random() < 0.2:
        return _PLAIN[model.__name__](rng, path)
    for _ in range(200):
        fields = {}
        for name, field in model.model_fields.items():
            here = f"{path}.{name}" if path else name
            if field.is_required() or rng.random() < fill:
                whole = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
                value = _value(whole, rng, here, fill * 0.9, model.__name__)
                if value is not None:
                    fields[name] = value
        if {"date", "ended"} <= fields.keys():  # what ends before it starts is the record's mistake, and another test's
            fields["date"], fields["ended"] = sorted((fields["date"], fields["ended"]))
        try:
            model.model_validate(fields)
            return fields
        except ValidationError:
            fill = rng.random()
    raise AssertionError(f"no valid {model.__name__} in 200 tries")


_PLAIN: dict[str, Callable[[random.Random, str], dict[str, Any]]] = {
    "Wax": lambda rng, path: {
        "answer": rng.choice(("not seen", "not examined")), "reason": _term(rng, f"{path}.reason"),
    },
    "Drum": lambda rng, path: {"answer": rng.choice(("normal", "not seen", "not examined"))},
    "SharingConsent": lambda rng, path: {"status": "not asked", "reason": rng.choice((None, *WORDS))},
}  # fmt: skip
"""What is rare where every field is filled by itself, because little may stand beside it."""


@cache
def units_of(path: str) -> tuple[str, ...]:
    """Units that a field can have once it is read, by mappings/field-units.csv."""
    bare = "." + pattern(path).replace("[]", "")
    rows = [r for r in load_csv(table_path("field-units.csv")) if bare.endswith(f".{r['field']}")]
    return tuple((rows[0]["into"] or rows[0]["units"]).split()) if rows else ("s", "min")


def _term(rng: random.Random, path: str) -> dict[str, Any]:
    known = words_of(kind_of(path))
    if known and rng.random() < 0.5:
        word, codings = rng.choice(known)
        return {"text": word, "codings": list(codings)}
    codings = [Coding(system="http://snomed.info/sct", code="17621005", display="Normal")] * rng.randrange(2)
    return {"text": rng.choice(WORDS), "codings": [c.model_dump() for c in codings]}


def _value(annotation: Any, rng: random.Random, path: str, fill: float, owner: str) -> Any:
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return _value(next(a for a in args if a is not type(None)), rng, path, fill, owner)
    if origin is Annotated:
        return _text(annotation, rng, path) if args[0] is str else _value(args[0], rng, path, fill, owner)
    if origin is Literal:
        return rng.choice(args)
    if origin is tuple:
        number = rng.choice((3, 6) if path.endswith("thresholds") else (1, 1, 2))
        return [_value(args[0], rng, f"{path}[{i}]", fill, owner) for i in range(number)]
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        made = _model(annotation, rng, path, fill)
        if annotation is Term and owner in ASSERTABLE and path.endswith("term"):
            made["assertion"] = rng.choice(("present", "present", "suspected", "absent", "past", None))
            _doubted(made, owner)
        if annotation is Term and owner in DOUBTABLE and path.endswith(("name", "term")):
            made["assertion"] = rng.choice((None, None, *DOUBTS))
        return made
    if annotation is bool:
        return rng.random() < 0.5
    if annotation is int:
        return rng.randrange(1, 11)
    if annotation is Decimal:
        return Decimal(rng.randrange(1, 99))
    return _text(annotation, rng, path)


def _doubted(term: dict[str, Any], owner: str) -> None:
    """What coding does to a word of the maps: a doubt has the own code alone, and what stands for nothing has none."""
    if _stands_for_nothing(term):
        term["assertion"] = "past" if owner == "PastEvent" else "present"
    elif owner != "Impression" and any(c["system"] == OWN for c in term["codings"]):
        term["assertion"] = term["assertion"] or "present"
        term["codings"] = term["codings"] if term["assertion"] == "present" else term["codings"][-1:]


def _stands_for_nothing(term: dict[str, Any]) -> bool:
    return any(c["system"] == OWN and c["code"].endswith(NONE) for c in term["codings"])


def _text(annotation: Any, rng: random.Random, path: str) -> str:
    if "check_when" in repr(annotation):
        return rng.choice(WHENS)
    return rng.choice((*WORDS, *BY_FIELD.get(path.rpartition(".")[2], ()) * 3))


@cache
def kind_of(path: str) -> str:
    """The kind of term that a field holds, by mappings/terms/kinds.csv; empty for none."""
    steps = "." + pattern(path).replace("[]", "")
    rows = [(f, r["kind"]) for r in load_csv(table_path("terms", "kinds.csv")) for f in r["fields"].split("|")]
    return max(((f, kind) for f, kind in rows if steps.endswith(f".{f}")), key=lambda r: len(r[0]), default=("", ""))[1]


@cache
def words_of(kind: str) -> tuple[tuple[str, tuple[dict[str, str], ...]], ...]:
    """Every word that the term maps have for a kind, with its codings; of those it borrows from where it has none."""
    found: list[tuple[str, tuple[dict[str, str], ...]]] = []
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            if row["kind"] == kind and row.get("concept"):
                own = {"system": OWN, "code": row["concept"], "display": row["label"]}
                codings = (*map(coding, row["codes"].split()), own)
                found += [(word, codings) for word in row["words"].split("|")]
    others = (r["also"].split() for r in load_csv(table_path("terms", "kinds.csv")) if r["kind"] == kind)
    return tuple(found or (known for also in others for other in also for known in words_of(other)))


def closed(value: BaseModel, path: str = "") -> Iterator[tuple[str, Any]]:
    """Pattern and value of every field of listed values that a visit has, defaults too."""
    for name, field in type(value).model_fields.items():
        of, many = plain_type(field.annotation)
        held = getattr(value, name)
        here = (f"{path}.{name}" if path else name) + ("[]" if many else "")
        for item in (held if many else (held,)) or ():
            if isinstance(item, BaseModel):
                yield from closed(item, here)
            elif item is not None and (of is bool or typing.get_origin(of) is Literal):
                yield pattern(here), item


def _is_asserted(owner: str, name: str) -> bool:
    return (owner in ASSERTABLE and name == "term") or (owner in DOUBTABLE and name in ("name", "term"))


def listed(model: type[BaseModel] = Visit, path: str = "") -> Iterator[tuple[str, Any]]:
    """Pattern and value of everything that `closed` could ever find."""
    for name, field in model.model_fields.items():
        of, many = plain_type(field.annotation)
        here = (f"{path}.{name}" if path else name) + ("[]" if many else "")
        if of is Term:
            said = typing.get_args(Assertion) if model.__name__ in ASSERTABLE else DOUBTS
            yield from ((pattern(f"{here}.assertion"), word) for word in said if _is_asserted(model.__name__, name))
        elif of is Measure:
            yield from ((pattern(f"{here}.unit"), unit) for unit in units_of(here))
        elif isinstance(of, type) and issubclass(of, BaseModel):
            yield from listed(of, here)
        elif of is bool or typing.get_origin(of) is Literal:
            yield from ((pattern(here), value) for value in ((False, True) if of is bool else typing.get_args(of)))


def counts(number: int) -> tuple[Counter[tuple[str, Any]], Counter[str]]:
    """How often each listed value, and each kind of term-map words, occurs in so many visits."""
    values, kinds = Counter[tuple[str, Any]](), Counter[str]()
    for seed in range(number):
        made = visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        values.update(closed(made))
        kinds.update(kind_of(p) for p, t in terms_of(made) if t.codings and t.codings[-1].system == OWN)
    return values, kinds


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.generate")
    parser.add_argument("--counts", type=int, required=True, metavar="VISITS")
    values, kinds = counts(parser.parse_args().counts)
    never = 0
    for field, value in dict.fromkeys(listed()):
        never += not values[field, value]
        print(f"{values[field, value]:7}  {field}: {value}")
    for kind in (r["kind"] for r in load_csv(table_path("terms", "kinds.csv"))):
        print(f"{kinds[kind]:7}  words of {kind}")
    return 1 if never else 0


if __name__ == "__main__":
    sys.exit(main())
