"""A visit that was looked at is let go at once: objects that hold each other would stay until Python looks for them."""

from __future__ import annotations

import gc
from pathlib import Path

from bridge.audited import audit
from tests.audit.seeder.sheets import write_sheet
from tests.audit.test_patterns import converter


def left(sheet: Path, count: int) -> int:
    """Objects that an audit of so many visits leaves to the garbage collector."""
    write_sheet(sheet, count, seed=3, each=10)
    practice = converter(sheet.parent)
    gc.collect()
    gc.disable()
    try:
        assert audit([sheet], practice).records == count
        return gc.collect()
    finally:
        gc.enable()


def test_visits_leave_nothing_to_the_garbage_collector(tmp_path: Path) -> None:
    left(tmp_path / "visits-first.csv", 10)
    assert left(tmp_path / "visits-many.csv", 60) <= left(tmp_path / "visits-few.csv", 20)
