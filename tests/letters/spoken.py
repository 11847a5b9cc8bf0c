"""What a letter says and where it says it: the common shape of a printed page and of a page on screen."""

from __future__ import annotations

from dataclasses import dataclass, field

EARS = ("right", "left")
ROWS = {"Before": "before", "Done": "done", "After": "after", "Not seen or examined": "limits"}
ROW_TITLES = {row: title for title, row in ROWS.items()}
GROUPS = {"Both ears": ("right", "left"), "Right ear": ("right",), "Left ear": ("left",)}


@dataclass
class Part:
    """A section: all its text, and the groups in it that name an ear."""

    title: str
    text: str = ""
    groups: list[tuple[str, str]] = field(default_factory=list)


@dataclass
class Drawn:
    title: str
    text: str
    alternative: str = ""
    """Only where the form of the letter shows it."""


@dataclass
class Spoken:
    parts: list[Part] = field(default_factory=list)
    ears: dict[tuple[str, str], str] = field(default_factory=dict)
    """By row and ear; empty where the letter has no table."""
    drawn: list[Drawn] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)
    codes: list[tuple[str, str]] = field(default_factory=list)
    """Ear and text of each row of the table of codes."""
    everything: str = ""

    def text_of(self, title: str) -> str:
        return " ".join(part.text for part in self.parts if part.title == title)


def squeezed(text: str) -> str:
    """Without blanks: lines may break anywhere."""
    return "".join(text.split())
