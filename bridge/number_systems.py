"""Numbers of registers: their shape and their check digit, by the address of the register. Data in `mappings/`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path


@dataclass(frozen=True, slots=True)
class NumberSystem:
    name: str
    shape: str
    in_words: str
    check: str
    prefix: str
    repeated: bool

    def misshapen(self, number: str) -> bool:
        return bool(self.shape) and re.fullmatch(self.shape, number) is None

    def fails(self, number: str) -> bool:
        """Whether a number of the right shape has a check digit that does not fit, or may never be one."""
        if not self.repeated and len(set(number)) == 1:
            return True
        digits = [int(c) for c in self.prefix + number if c.isdigit()]
        if self.check == "luhn":
            return not _luhn(digits)
        return self.check == "mod-11" and not _mod_11(digits)


def number_system(uri: str) -> NumberSystem | None:
    """What is known of the numbers under an address; None for one that no table has."""
    return _table().get(uri)


@cache
def _table() -> dict[str, NumberSystem]:
    return {
        row["system"]: NumberSystem(
            row["name"], row["shape"], row["in_words"], row["check"], row["prefix"], row["repeated"] != "no"
        )
        for row in load_csv(table_path("number-systems.csv"))
    }


def _luhn(digits: list[int]) -> bool:
    """ISO/IEC 7812-1: every second digit from the right doubled, its digits summed; the whole ends in 0."""
    doubled = [d if place % 2 == 0 else d * 2 - 9 * (d > 4) for place, d in enumerate(reversed(digits))]
    return sum(doubled) % 10 == 0


def _mod_11(digits: list[int]) -> bool:
    *stem, last = digits
    check = 11 - sum(weight * digit for weight, digit in zip(range(10, 1, -1), stem, strict=True)) % 11
    return last == (0 if check == 11 else check)
