"""The table of professional registers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path
from bridge.number_systems import number_system


@dataclass(frozen=True, slots=True)
class Register:
    key: str
    name: str
    system: str
    """URI that goes before the numbers of this register."""
    shape: str
    """Regular expression that usual numbers match; empty where nothing is known."""
    in_words: str
    regions: tuple[str, ...]
    """Where it is kept."""

    def usual(self, number: str) -> bool:
        """Whether the number looks like one of this register."""
        bare = re.sub(r"\s", "", number).upper()
        if self.shape and re.fullmatch(self.shape, bare) is None:
            return False
        known = number_system(self.system)
        return known is None or not known.fails(bare)


@cache
def load_registers() -> dict[str, Register]:
    """Every register of `mappings/registers.csv` by key."""
    return {
        row["register"]: Register(
            row["register"],
            row["name"],
            row["system"],
            row["shape"],
            row["example_in_words"],
            tuple(row["regions"].split()),
        )
        for row in load_csv(table_path("registers.csv"))
    }
