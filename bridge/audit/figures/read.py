"""Figures that came from elsewhere: read without trust, and refused with every reason at once."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.audit.figures.cells import Cell
from bridge.audit.figures.doubts import doubts
from bridge.data import table_path
from bridge.issues import Issue, Where, issue

MOST_BYTES = 5_000_000
MOST_REASONS = 20
_WORDS = {
    "AdditionalProperties": "holds a field that figures do not have",
    "Required": "lacks a field that figures have",
    "Type": "is of the wrong kind",
    "Enum": "is none of the values that may stand there",
    "Constant": "is not what figures of this edition say there",
    "Minimum": "is too small a number",
    "Maximum": "is too large a number",
    "Pattern": "is not written as it should be",
    "MaxLength": "is too long",
    "MinLength": "is empty",
    "MaxItems": "has too many items",
    "MinItems": "has no items",
}


@dataclass(frozen=True, slots=True)
class Figures:
    """One clinic's figures, sound in themselves."""

    file: str
    data: dict[str, Any]
    rates: dict[str, Cell]
    patterns: dict[str, Cell]
    """Only those that the clinic's data could show."""

    @property
    def key(self) -> str:
        return str(self.data["clinic"]["key"])

    @property
    def name(self) -> str:
        return str(self.data["clinic"]["name"])

    @property
    def period(self) -> tuple[str, str]:
        return self.data["period"]["first"], self.data["period"]["last"]

    @property
    def maps(self) -> str:
        return str(self.data["maps"]["edition"])


class _TwiceError(ValueError):
    """A key stands twice in one object."""


def read_figures(content: bytes, file: str) -> tuple[Figures | None, list[Issue]]:
    """The figures, or None and why not: A260 for what has not their shape, A261 for what cannot be true."""
    where = Where(file)
    data, why = _parsed(content)
    if why:
        return None, [issue("A260", f"This is no file of figures: it {why}.", where)]
    wrong = list(_misshapen(data))
    if wrong:
        told = [issue("A260", f"{path} {why}.", where, cause=file) for path, why in wrong[:MOST_REASONS]]
        if len(wrong) > MOST_REASONS:
            told.append(issue("A260", f"{len(wrong) - MOST_REASONS} more reasons of this kind.", where, cause=file))
        return None, told
    untrue = list(doubts(data))
    if untrue:
        return None, [issue("A261", one, where, cause=file) for one in untrue[:MOST_REASONS]]
    rates = {key: _cell(value) for key, value in data["rates"].items()} | {"consistency": _cell(data["consistency"])}
    patterns = {one["pattern"]: _cell(one["records"]) for one in data["patterns"] if one["shown"]}
    return Figures(file, data, rates, patterns), []


def _parsed(content: bytes) -> tuple[Any, str]:
    if len(content) > MOST_BYTES:
        return None, f"is larger than {MOST_BYTES // 1_000_000} MB"
    try:
        data = json.loads(content.decode("utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_number)
        json.dumps(data, ensure_ascii=False).encode()
        return data, ""
    except UnicodeError:
        return None, "is not text in UTF-8, or has half a character in it"
    except _TwiceError:
        return None, "has a field twice"
    except RecursionError:
        return None, "is nested too deeply"
    except ValueError:
        return None, "is not JSON"


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _TwiceError
    return found


def _no_number(_: str) -> float:
    raise ValueError("no number")


def _misshapen(data: Any) -> Iterator[tuple[str, str]]:
    """Place and reason; what stands in the file is not quoted."""
    for error in _validator().iter_errors(data):
        path = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in error.instance_path)
        kind = type(error.kind).__name__.removeprefix("ValidationErrorKind_")
        yield path.lstrip(".") or "The whole", _WORDS.get(kind, "is not as figures are")


@cache
def _validator() -> Any:
    import jsonschema_rs

    text = table_path("schemas", "audit-figures.schema.json").read_text(encoding="utf-8")
    return jsonschema_rs.validator_for(json.loads(text))


def _cell(value: dict[str, Any]) -> Cell:
    count, of = value["count"], value["of"]
    return Cell(None if count is None else int(count), None if of is None else int(of), value["withheld"])
