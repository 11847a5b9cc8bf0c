"""The one compiler of letters: fonts from packages alone, nothing from the machine, nothing from the network."""

from __future__ import annotations

import threading
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.data import mappings_root, table_path
from bridge.errors import BridgeError

if TYPE_CHECKING:
    from datetime import datetime

FONTS = ["Atkinson Hyperlegible", "Libertinus Serif", "DejaVu Sans Mono"]
"""The first that has a character gives it its shape. The second and third come with the compiler."""
STANDARDS = ["a-3a", "ua-1"]
"""PDF/A-3 level A (kept for years, tagged, files attached) and PDF/UA-1 (read aloud)."""


_of_thread = threading.local()


class UnprintableError(Exception):
    """A character, or some together, that no font has. Says no more: the words are a client's."""


def compiled(inputs: dict[str, str], made: datetime | None, source: bytes | None = None) -> bytes:
    """The PDF of the letter's template, or of another `source`, with these inputs.

    Raises UnprintableError, and BridgeError where it fails for another reason.
    """
    import typst

    try:
        found: Any = _compiler().compile(
            str(template()) if source is None else source,
            format="pdf",
            sys_inputs=inputs,
            pdf_standards=list(STANDARDS),
            timestamp=made,
        )
    except typst.TypstError as error:
        if "could not be displayed" in str(error):
            raise UnprintableError from None
        raise BridgeError("The letter could not be set as PDF.", "Make it as HTML.") from None
    except BaseException as error:
        if type(error).__name__ != "PanicException":
            raise
        raise UnprintableError from None
    return bytes(found)


@cache
def template() -> Path:
    """Given as a file, it is parsed once."""
    return table_path("documents", "letter.typ")


def _compiler() -> Any:
    """Keeps fonts and the parsed template between letters; each thread has its own."""
    if not hasattr(_of_thread, "compiler"):
        import typst

        fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(_fonts())])
        _of_thread.compiler = typst.Compiler(
            root=str(mappings_root() / "documents"), font_paths=fonts, ignore_system_fonts=True
        )
    return _of_thread.compiler


def _fonts() -> Path:
    """The folder of the package that brings the letter's own; the package itself is not run."""
    spec = find_spec("fontpkg_atkinson_hyperlegible")
    if spec is None or spec.origin is None:
        raise BridgeError("The font of letters is missing from this installation.", "Install visit-bridge again.")
    return Path(spec.origin).parent / "files"
