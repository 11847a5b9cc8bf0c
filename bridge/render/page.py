"""What a letter says, in reading order and in words, before it is HTML or PDF: plain data, no markup.

HTML and PDF walk the same blocks, so both say the same. A block holds words only; how it looks is the format's.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bridge.ear_words import Ear

Style = Literal["", "strong", "quiet", "caution"]
"""quiet: an answer that is no finding, such as "Not recorded"; caution: small print that must be read."""
Frame = Literal["", "box", "alert"]
"""box: what the reader is asked to do; alert: red flags that stand, which are told before head and client."""


@dataclass(slots=True)
class Line:
    """`Eardrum: looked normal.` The subject may be empty."""

    subject: str
    words: str


@dataclass(slots=True)
class Text:
    words: str
    style: Style = ""


@dataclass(slots=True)
class Lines:
    """Lines under a title, or under none. One line without a title is a paragraph, several are a list.

    In a section the title (`Both ears`) stands beside its lines. In a cell of the ears the title (`Microsuction.`) and
    its lines run on as one paragraph; lines without a title stand one below the other without bullets.
    """

    lines: list[Line]
    title: str = ""


@dataclass(slots=True)
class Pairs:
    """Labels and words side by side."""

    rows: list[tuple[str, str]]


@dataclass(slots=True)
class Step:
    """One thing that the reader is asked to do."""

    action: str
    details: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Steps:
    """Numbered."""

    steps: list[Step]


@dataclass(slots=True)
class Cell:
    """What one row says of one ear."""

    ear: Ear
    blocks: list[Text | Lines] = field(default_factory=list)


@dataclass(slots=True)
class Row:
    key: str
    title: str
    cells: list[Cell]
    """The right ear's, then the left ear's, as one sees the person who sits opposite."""


@dataclass(slots=True)
class Ears:
    """Both ears in two columns."""

    titles: tuple[str, str]
    rows: list[Row]
    apart: str = ""
    """What tells this table from others on one page."""


@dataclass(slots=True)
class Picture:
    """A drawing with the words that say the same."""

    svg: str
    """One `<svg>` element without scripts, links or styles of the page."""
    alt: str
    """All that the drawing shows, in words."""
    title: str
    legend: list[str] = field(default_factory=list)
    """Each mark of the drawing in words."""
    ear: Ear | None = None


@dataclass(slots=True)
class Pictures:
    """Drawings beside each other, right ear first."""

    pictures: list[Picture]
    caption: str = ""


@dataclass(slots=True)
class Grid:
    """A table; the first cell of each row names the row."""

    headings: list[str]
    rows: list[list[str]]
    caption: str = ""


@dataclass(slots=True)
class Files:
    """Files beside the page: name, what it is, size, SHA-256. Only HTML has them."""

    headings: list[str]
    rows: list[tuple[str, str, str, str]]


@dataclass(slots=True)
class Listing:
    """Lines to be typed or run as they stand. Only HTML has them."""

    text: str


@dataclass(slots=True)
class Passage:
    """Somebody else's narrative made safe (XHTML subset, see bridge/render/xhtml.py; `dl` groups lines by ear)."""

    html: str
    language: str = ""


Block = Text | Lines | Pairs | Steps | Ears | Pictures | Grid | Files | Listing | Passage


@dataclass(slots=True)
class Section:
    key: str
    """Of the section plan where it has one; unique on the page."""
    title: str
    blocks: list[Block]
    level: int = 2
    frame: Frame = ""
    under: str = ""
    """Key of the section whose title tells this one from others with the same title."""


@dataclass(slots=True)
class Part:
    """One of the blocks of the letter's head: from, to, this letter."""

    title: str
    lines: list[str] = field(default_factory=list)
    rows: list[tuple[str, str]] = field(default_factory=list)


@dataclass(slots=True)
class Page:
    """A whole letter."""

    kind: str
    """`summary`, `referral`, `client`; `record` for all visits of a client, `handover` for the index of a hand-over;
    empty for a document of others."""
    language: str
    """BCP 47, as the bundle says."""
    title: str
    number: str
    """Number of the visit or the client, for file names and the window's title."""
    marks: list[str]
    """What must be seen before anything else, and on every page: draft, corrected, entered in error, not reviewed."""
    head: list[Part]
    client_title: str
    client: list[tuple[str, str]]
    sections: list[Section]
    """In reading order; those with a frame stand in the first screenful."""
    closing: list[str]
    """Small print at the end."""
    running: str
    """One line at the foot of every page that tells this letter from any other."""
    large: bool = False
    """Large type, for readers who need it."""
    introduction: str = ""
    """One quiet sentence before the sections, such as that others wrote the document."""
