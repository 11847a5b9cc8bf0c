"""One page that a busy doctor reads: self-contained, without scripts, made from the document bundle alone."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

from bridge.data import table_path
from bridge.fhir.tell.words import worded
from bridge.file_names import safe_stem
from bridge.render.codes import code_rows
from bridge.render.ears import ear_table
from bridge.render.entries import TOOL, Entries
from bridge.render.foreign import passages
from bridge.render.head import head, record_hashes
from bridge.render.referral import referrals
from bridge.render.sections import asks, attention, authors, sections, table_notes
from bridge.shapes import Document, Json

if TYPE_CHECKING:
    from jinja2 import Template

_LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def render(bundle: Json) -> Document:
    """The letter of a document bundle as HTML, named after the visit's number, and as a referral where it is one.

    A bundle that this tool did not write is shown by its own narratives, made safe. Same bundle, same
    bytes. Raises InputError for what is no Bundle.
    """
    entries = Entries(bundle)
    with worded(entries.region.wording):
        return _page(entries)


def _page(entries: Entries) -> Document:
    top = head(entries)
    if entries.ours:
        table = ear_table(entries)
        told = sections(entries, table.told)
        own_words = [section for section in told if section.key == "notes"] if table.bare else []
        body: dict[str, Any] = {
            "attention": attention(entries),
            "asks": asks(entries),
            "referrals": referrals(entries) if entries.kind == "referral" else None,
            "table": table,
            "table_notes": table_notes(entries),
            "own_words": own_words,
            "sections": [section for section in told if section not in own_words],
            "authors": authors(entries),
            "codes": code_rows(entries),
        }
    else:
        body = {"passages": passages(entries)}
    page = _template().render(
        head=top,
        ours=entries.ours,
        whole_record=entries.whole_record,
        language=_language(entries),
        tool=_tool(entries),
        hashes=record_hashes(entries),
        **body,
    )
    stem = safe_stem(top.number) + (".referral" if entries.kind == "referral" else "")
    return Document(f"{stem}.html", "text/html", page.encode("utf-8", "replace"))


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["css_string"] = css_string
    return environment.from_string(table_path("documents", "summary.html.j2").read_text(encoding="utf-8"))


def css_string(text: str) -> str:
    """Text for inside a quoted CSS string: whatever is not a plain letter, digit or blank is escaped by number.

    The blank behind an escape belongs to it.
    """
    return "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):06X} " for c in text[:200])


def _language(entries: Entries) -> str:
    """Language of a foreign document's own text; empty where it does not say."""
    said = str(entries.composition.get("language") or entries.bundle.get("language") or "")
    return said if _LANGUAGE.fullmatch(said) else ""


def _tool(entries: Entries) -> str:
    """The tool with its version, as the bundle tells it."""
    for device in entries.of("Device"):
        if any(n.get("name") == TOOL for n in device.get("deviceName", ())):
            versions = [v["value"] for v in device.get("version", ()) if v.get("value")]
            return " ".join([TOOL, *versions])
    return ""
