"""What was asked of others whose coding is audited; nothing that anything here is judged by."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path


@dataclass(frozen=True, slots=True)
class Level:
    """Percent of right codes of one sort, at the two upper levels."""

    of: str
    level_2: int
    level_3: int


@cache
def levels() -> tuple[Level, ...]:
    rows = load_csv(table_path("audit", "yardstick.csv"))
    return tuple(Level(row["of"], int(row["level_2"]), int(row["level_3"])) for row in rows)
