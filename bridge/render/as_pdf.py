"""The letter as PDF that carries its own data: PDF/A-3a and PDF/UA-1, made from the document bundle alone."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal

from bridge.file_names import safe_stem
from bridge.render.letter import page_of
from bridge.render.pdf.characters import MISSING, Printable
from bridge.render.pdf.compiler import FONTS, UnprintableError, compiled
from bridge.render.pdf.plain import plain
from bridge.shapes import Document, Json
from bridge.wording import for_tag, say, say_number, speaking

if TYPE_CHECKING:
    from bridge.render.page import Page

Paper = Literal["A4", "Letter"]
PAPERS = {"A4": "a4", "Letter": "us-letter"}
ATTACHED = "bundle.json"
"""Name of the data in every letter."""
BODY, CLIENTS_BODY, LARGE_BODY, CLIENTS_LARGE_BODY = 8.8, 9.5, 13.2, 16.0
"""Sizes of type in points. Large print is commonly said to begin at 16 (clear print guidance; from memory)."""
NO_TIME = datetime(1970, 1, 1, tzinfo=UTC)
"""Of a document that does not say when it was made."""


def render(
    bundle: Json,
    attachment: bytes | None,
    *,
    paper: Paper = "A4",
    reader: Literal["doctor", "client"] = "doctor",
    large: bool = False,
) -> Document:
    """The letter of a document bundle as PDF; `attachment` is the exported bundle, which it then carries byte for byte.

    Same bundle, same bytes, on every machine. Raises InputError for what is no Bundle, BridgeError where no PDF can be
    made of it.
    """
    page = page_of(bundle, reader=reader, large=large)
    with speaking(for_tag(page.language)):
        content = page_as_pdf(page, attachment, paper=paper, draft=_draft(bundle), made=_moment(bundle))
    suffix = f".{page.kind}" if page.kind in ("referral", "client") else ""
    return Document(f"{safe_stem(page.number)}{suffix}.pdf", "application/pdf", content)


def page_as_pdf(
    page: Page,
    attachment: bytes | None,
    *,
    paper: Paper = "A4",
    draft: bool = False,
    made: datetime = NO_TIME,
) -> bytes:
    """A page as PDF, in the language in force. `made` is the time that the file says it was made."""
    try:
        return _compiled(page, attachment, paper, draft, made, Printable())
    except UnprintableError:
        return _compiled(page, attachment, paper, draft, made, Printable(cautious=True))


def _compiled(
    page: Page, attachment: bytes | None, paper: Paper, draft: bool, made: datetime, printable: Printable
) -> bytes:
    import orjson

    data = plain(page, printable)
    data |= {
        "fonts": FONTS,
        "size": _size(page),
        "paper": PAPERS[paper],
        "draft": say("pdf.draft") if draft else "",
        "name": printable.fit(page.title).strip() or "…",
        "author": printable.fit(page.head[0].lines[0]) if page.head and page.head[0].lines else "",
        "counted": say("page"),
        "missing": _missing(printable, attachment is not None),
        "attached": ATTACHED if attachment is not None else "",
        "described": say("pdf.data.described"),
    }
    if attachment is not None:
        data["closing"].append(say("pdf.data", file=ATTACHED))
    inputs = {"letter": orjson.dumps(data).decode(), "data": (attachment or b"").decode("utf-8")}
    return compiled(inputs, made)


def _missing(printable: Printable, attached: bool) -> str:
    if not printable.missing:
        return ""
    return say_number("pdf.missing.data" if attached else "pdf.missing", printable.missing, box=MISSING)


def _draft(bundle: Json) -> bool:
    return bool(_composition(bundle).get("status") == "preliminary")


def _composition(bundle: Json) -> Json:
    """The first resource where it is a Composition, as a document has it; else nothing."""
    entries: list[Json] = bundle.get("entry") or [{}]
    first: Json = entries[0].get("resource") or {}
    return first if first.get("resourceType") == "Composition" else {}


def _moment(bundle: Json) -> datetime:
    """When the bundle or its Composition says it was made: a letter has no other clock, and must have one."""
    composition = _composition(bundle)
    for said in (bundle.get("timestamp"), composition.get("date")):
        try:
            moment = datetime.fromisoformat(str(said))
        except ValueError:
            continue
        if 1900 <= moment.year <= 2200:
            return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return NO_TIME


def _size(page: Page) -> float:
    if page.kind == "client":
        return CLIENTS_LARGE_BODY if page.large else CLIENTS_BODY
    return LARGE_BODY if page.large else BODY
