"""One page that a busy doctor reads: self-contained, without scripts, made from the document bundle alone."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import groupby
from typing import TYPE_CHECKING

from bridge.data import table_path
from bridge.fhir.tell.by_ear import lines_xhtml, text_xhtml
from bridge.file_names import safe_stem
from bridge.render.letter import Reader, page_of
from bridge.render.page import Ears, Files, Grid, Lines, Listing, Passage, Pictures, Section
from bridge.shapes import Document, Json
from bridge.wording import for_tag, say, speaking

if TYPE_CHECKING:
    from jinja2 import Template

    from bridge.render.page import Page

HANDOVER = "handover"
"""The kind of page on which many visits stand, whose headings must stay above what they head."""
_XHTML_BREAK = "<br/>"
"""As narratives have it; words of a record cannot hold it, for they are escaped."""
_WIDE = (Ears, Files, Grid, Listing, Passage, Pictures)
"""Blocks that want the whole width, below their heading instead of beside it."""


def render(bundle: Json, *, reader: Reader = "doctor", large: bool = False) -> Document:
    """The letter of a document bundle as HTML, named after the visit's number and the kind of letter.

    A bundle that this tool did not write is shown by its own narratives, made safe. Same bundle, same
    bytes. Raises InputError for what is no Bundle.
    """
    page = page_of(bundle, reader=reader, large=large)
    kind = f".{page.kind}" if page.kind in ("referral", "client") else ""
    return Document(f"{safe_stem(page.number)}{kind}.html", "text/html", html_of(page).encode("utf-8", "replace"))


def html_of(page: Page) -> str:
    """The whole page."""
    with speaking(for_tag(page.language)):
        made = _template().render(page=page, page_of_pages=_page_of_pages())
    return made.replace(_XHTML_BREAK, "<br>")


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["css_string"] = css_string
    environment.filters["lines"] = _lines
    environment.filters["words"] = text_xhtml
    environment.filters["kind"] = lambda block: type(block).__name__
    environment.filters["wide"] = _wide
    environment.filters["runs"] = _runs
    environment.globals["say"] = say
    return environment.from_string(table_path("documents", "letter.html.j2").read_text(encoding="utf-8"))


def _lines(block: Lines) -> str:
    return lines_xhtml(block.title, [(line.subject, line.words) for line in block.lines])


def _wide(section: Section) -> bool:
    return any(isinstance(block, _WIDE) for block in section.blocks)


def _runs(page: Page) -> Iterator[tuple[bool, list[Section]]]:
    """Sections one below the other, and several short ones in a row behind the ears, which share two columns."""
    sections = [section for section in page.sections if section.frame != "alert"]
    ears = next((i for i, s in enumerate(sections) if any(isinstance(b, Ears) for b in s.blocks)), len(sections))

    def narrow(at: tuple[int, Section]) -> bool:
        return at[0] > ears and not _wide(at[1]) and not page.large and page.kind != HANDOVER

    for columns, run in groupby(enumerate(sections), narrow):
        yield columns, [section for _, section in run]


def _page_of_pages() -> str:
    """`Page 1 of 2` as the style sheet's printer counts them."""
    before, _, rest = say("page", page="\0", pages="\1").partition("\0")
    between, _, after = rest.partition("\1")
    return f'"{css_string(before)}" counter(page) "{css_string(between)}" counter(pages) "{css_string(after)}"'


def css_string(text: str) -> str:
    """Text for inside a quoted CSS string: whatever is not a plain letter, digit or blank is escaped by number.

    The blank behind an escape belongs to it.
    """
    return "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):06X} " for c in text[:200])
