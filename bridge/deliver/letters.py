"""What letters are called, and how they are kept: nothing is written over unless that is wished."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path
from typing import Literal

from bridge.deliver.file import write_document
from bridge.issues import Issue, Where, issue
from bridge.shapes import Document

State = Literal["written", "replaced", "unchanged", "left"]
"""left: something else stands there, and was not written over."""

_ENDINGS = {"pdf": "pdf", "html": "html", "json": "bundle.json", "xml": "bundle.xml", "cda": "cda.xml", "yaml": "yaml"}
_NO_LETTERS = re.compile(r"[\W_]+")
_MOST_BYTES = 80


def letter_name(stem: str, kind: str, form: str, *, draft: bool = False, client: str = "") -> str:
    """`M26-0110.pdf`, `M26-0110.referral.draft.bundle.json`; `client`: a name to be in it, `M26-0110_Bell_Ann.pdf`."""
    told = _NO_LETTERS.sub("_", unicodedata.normalize("NFC", client)).strip("_")
    told = told.encode()[:_MOST_BYTES].decode(errors="ignore").strip("_")
    parts = [f"{stem}_{told}" if told else stem, kind if kind not in ("summary", "") else "", "draft" if draft else ""]
    return ".".join([*filter(None, parts), _ENDINGS[form]])


class Keeper:
    """Puts finished files into folders, beside what is there."""

    def __init__(self, *, replace: bool = False) -> None:
        self._replace = replace

    def put(self, document: Document, folder: Path) -> tuple[State, list[Issue]]:
        """D175 where another file of that name was left; D115 where one that was no draft was replaced.

        Raises BridgeError where nothing can be written.
        """
        there = _compared(folder / document.name, document.content)
        if there == "same":
            return "unchanged", []
        if there == "other" and not self._replace:
            told = f"{document.name} is there already and says something else."
            return "left", [issue("D175", told, cause="D175")]
        write_document(document, folder)
        if there == "none":
            return "written", []
        told = f"{document.name} was there and said something else."
        draft = ".draft." in document.name
        return "replaced", [] if draft else [issue("D115", told, Where(), cause="D115")]


def _compared(path: Path, content: bytes) -> Literal["none", "same", "other"]:
    try:
        if path.stat().st_size != len(content):
            return "other"
        return "same" if path.read_bytes() == content else "other"
    except PermissionError:
        return "other"
    except OSError:  # nothing is there, or nothing can be, and writing says why
        return "none"
