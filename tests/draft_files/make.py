"""Writes the clinic files that are not plain text: `python -m tests.draft_files.make [FOLDER]`."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.draft_files import HERE, dictated_texts, french_texts, register_texts
from tests.draft_files.workbook import Workbook


def make(folder: Path) -> list[Path]:
    books = {
        "consultations.xlsx": french_texts.PAGES,
        "dictated.xlsx": dictated_texts.PAGES,
        "register.xlsx": register_texts.PAGES,
    }
    for name, pages in books.items():
        Workbook(pages).write(folder / name)
    return [folder / name for name in books]


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
