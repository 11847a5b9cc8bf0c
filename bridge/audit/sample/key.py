"""The key of a sheet: which record each line is of and how it was coded there. It stays with whoever asks."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from bridge.audit.sample.draw import Drawn, Thing
from bridge.errors import InputError
from bridge.recoding import Choice
from bridge.visit.base import Coding

SUFFIX = ".key.json"
LARGEST = 20_000_000
_SHORT = Field("", max_length=500)


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Given(_Part):
    """What a line is of, and how the record has it."""

    line: str = Field(max_length=40)
    record: str = _SHORT
    path: str = _SHORT
    file: str = _SHORT
    sheet: str = _SHORT
    row: int | None = None
    practitioner: str = _SHORT
    month: str = _SHORT
    kind: str = _SHORT
    field: str = _SHORT
    words: str = _SHORT
    under: str = _SHORT
    assertion: str = _SHORT
    assertable: bool = False
    meaning: str = _SHORT
    """The practice's own concept that the words stand for, where it has no published code."""
    codings: tuple[Coding, ...] = Field((), max_length=20)


class Listed(_Part):
    """One meaning that could be chosen."""

    shown: str = Field(max_length=300)
    concept: str = Field(max_length=200)
    kind: str = Field(max_length=100)
    codes: tuple[tuple[str, str], ...] = Field((), max_length=20)


class Key(_Part):
    """All of a sheet's lines. `name` is a digest of the rest, and stands in the number of every line."""

    what: Literal["key of a re-coding sheet"] = "key of a re-coding sheet"
    format: Literal[1] = 1
    name: str = Field("", max_length=40)
    seed: str = Field(max_length=200)
    of: int = Field(ge=0)
    by: Literal["", "practitioner", "month", "kind"] = ""
    groups: dict[str, int] = Field(max_length=1_000)
    lines: tuple[Given, ...] = Field(max_length=5_000)
    choices: dict[str, tuple[Listed, ...]] = Field(max_length=100)


def key_of(
    drawn: Drawn, seed: str, by: str, choices: Mapping[str, Sequence[Choice]], fields: Mapping[str, tuple[str, bool]]
) -> Key:
    """The key of a sample. `fields`: by kind, what its field is called and whether a term there can be doubted."""
    kinds = sorted({thing.kind for thing in drawn.things})
    listed = {kind: tuple(_listed(choices[kind])) for kind in kinds}
    lines = [_given(thing, f"{at:03}", fields) for at, thing in enumerate(drawn.things, 1)]
    groups = dict(sorted(drawn.groups.items()))
    bare = Key.model_validate(
        {"seed": seed, "of": drawn.of, "by": by, "groups": groups, "lines": lines, "choices": listed}
    )
    name = _digest(bare)
    named = tuple(line.model_copy(update={"line": f"{name}-{line.line}"}) for line in bare.lines)
    return bare.model_copy(update={"name": name, "lines": named})


def written_key(key: Key) -> bytes:
    return (json.dumps(key.model_dump(exclude_defaults=True) | _fixed(key), indent=1) + "\n").encode()


def read_key(path: Path) -> Key:
    """The key in a file. Raises InputError where it is none, or was changed since it was written."""
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(f"{path.name} is too large to be the key of a sheet.")
        key = Key.model_validate_json(path.read_bytes())
    except OSError as error:
        raise InputError(f"{path.name} cannot be read: {error.strerror or 'unknown reason'}.") from None
    except (ValidationError, ValueError, RecursionError):
        raise InputError(
            f"{path.name} is no key of a re-coding sheet.", "`visit-bridge audit sample` writes it beside the sheet."
        ) from None
    start = f"{key.name}-"
    if any(not line.line.startswith(start) for line in key.lines) or key.name != _digest(_unnamed(key, start)):
        raise InputError(
            f"{path.name} was changed since it was written, so nothing can be computed with it.",
            "Take it from a backup, or draw the sample again with the same seed from the same records.",
        )
    return key


def _unnamed(key: Key, start: str) -> Key:
    lines = tuple(line.model_copy(update={"line": line.line.removeprefix(start)}) for line in key.lines)
    return key.model_copy(update={"name": "", "lines": lines})


def _digest(key: Key) -> str:
    """`S` and nine hexadecimal digits, which no spreadsheet program takes for a number."""
    return "S" + sha256(json.dumps(key.model_dump(), sort_keys=True).encode()).hexdigest()[:9]


def _fixed(key: Key) -> dict[str, Any]:
    return {"what": key.what, "format": key.format}


def _listed(choices: Iterable[Choice]) -> Iterable[Listed]:
    return (Listed(shown=c.shown, concept=c.concept, kind=c.kind, codes=c.codes) for c in choices)


def _given(thing: Thing, line: str, fields: Mapping[str, tuple[str, bool]]) -> Given:
    entry, item = thing.entry, thing.item
    where = item.where if item.where.file else entry.at(item.path)
    name, assertable = fields[thing.kind]
    return Given(
        line=line,
        record=entry.number[:500],
        path=item.path[:500],
        file=where.file[:500],
        sheet=where.sheet[:500],
        row=where.row,
        practitioner=entry.practitioner[:500],
        month=entry.month[:500],
        kind=thing.kind,
        field=name,
        words=item.text[:500],
        under=item.side if item.side in ("right", "left", "both") else "",
        assertion=item.assertion,
        assertable=assertable,
        meaning=item.meant[:500],
        codings=item.codings[:20],
    )
