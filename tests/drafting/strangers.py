"""The sheets of `strangers.yaml`, to be drafted and judged as the clinic files are."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from bridge.drafting import Draft, draft_layout
from bridge.drafting import Sheet as Drafted
from tests.draft_files import Column, Sheet
from tests.drafting.sheets import TERMS

PATH = Path(__file__).parent / "strangers.yaml"


def strangers() -> dict[str, tuple[Drafted, Sheet]]:
    """By the name of each sheet: what is drafted from, and the truth."""
    told: list[dict[str, Any]] = yaml.safe_load(PATH.read_text(encoding="utf-8"))
    return {one["name"]: (_drafted(one), _truth(one)) for one in told}


def draft_of(sheet: Drafted) -> Draft:
    return draft_layout(sheet, TERMS)


def _drafted(one: dict[str, Any]) -> Drafted:
    columns = one["columns"]
    sheet = Drafted(one["name"], [c[0] for c in columns])
    sheet.take([[c[2 + at] if len(c) > 2 + at else "" for c in columns] for at in range(max(map(len, columns)) - 2)])
    return sheet


def _truth(one: dict[str, Any]) -> Sheet:
    columns = tuple(Column(c[0], tuple(c[1].split("|"))) for c in one["columns"])
    words = {
        heading: {cell: tuple(means.split("|")) for cell, means in cells.items()}
        for heading, cells in one.get("words", {}).items()
    }
    return Sheet("", "", 1, one["rows"], columns, {}, {}, words, {}, ())
