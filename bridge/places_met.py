"""Keeps places of a run as numbers, and tells them as a person finds them again."""

from __future__ import annotations

from bridge.issues import Where


class PlacesMet:
    """File, sheet and row of what was met, in one number each."""

    def __init__(self) -> None:
        self._files: list[tuple[str, str]] = []
        """File and sheet of the places."""

    def number(self, where: Where) -> int:
        """The place as a number."""
        if not self._files or self._files[-1] != (where.file, where.sheet):
            self._files.append((where.file, where.sheet))
        return (len(self._files) - 1) << 40 | (where.row or 0)

    def told(self, at: int, where: Where) -> str:
        """A place that was numbered, in words, as seen from another one (`row 3`, `sheet May, row 4`, `may.json`)."""
        (file, sheet), row = self._files[at >> 40], at & ((1 << 40) - 1)
        if not row:
            return "the same file" if file == where.file else file
        line = "record" if where.unseen else "line" if where.column and not where.heading else "row"
        told = f"sheet {sheet}, {line} {row}" if sheet and sheet != where.sheet else f"{line} {row}"
        return told if file == where.file else f"{file}, {told}"
