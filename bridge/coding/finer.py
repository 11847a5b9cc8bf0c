"""The licensed set: finer codes in place of the free ones, by the meaning and the ear its words stand under."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import Literal

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.errors import MappingError
from bridge.fhir.own import coding
from bridge.phrases import side_words
from bridge.visit.base import Coding

Side = Ear | Literal["both"] | None


@dataclass(frozen=True, slots=True)
class Finer:
    """Codes of one meaning: without a side (empty: the free ones stay), and by side where sided ones exist."""

    codes: tuple[str, ...]
    right: tuple[str, ...]
    left: tuple[str, ...]
    both: tuple[str, ...]

    def names(self, side: Side) -> tuple[str, ...]:
        sided = {"right": self.right, "left": self.left, "both": self.both}[side] if side else ()
        return sided or self.codes


def load_finer(concepts: Container[str]) -> dict[str, Finer]:
    """By own code, from `mappings/terms-licensed/`. MappingError for a meaning that the term maps do not have."""
    found: dict[str, Finer] = {}
    for path in sorted(table_path("terms-licensed").glob("*.csv")):
        for row in load_csv(path):
            if row["concept"] not in concepts or row["concept"] in found:
                how = "stands there twice" if row["concept"] in found else "is no meaning of the term maps"
                raise MappingError(f"terms-licensed/{path.name}: {row['concept']} {how}.")
            found[row["concept"]] = Finer(*(tuple(row[name].split()) for name in ("codes", "right", "left", "both")))
    return found


def as_codings(names: tuple[str, ...]) -> tuple[Coding, ...]:
    return tuple(Coding(**coding(name)) for name in names)


def side_of(path: str, words: str) -> Side:
    """The ear that a field stands under; both where the reason of a visit plainly names the two."""
    top = path.partition(".")[0]
    if top.startswith("reasons"):
        return "both" if len(side_words(words)) == 2 else None
    return next((ear for ear in EARS if ear == top), None)
