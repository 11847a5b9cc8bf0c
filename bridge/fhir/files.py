"""The bytes of a received file, of no more than anybody looks at."""

from __future__ import annotations

from pathlib import Path

from bridge.errors import InputError
from bridge.fhir.read_json import MAX_BYTES


def read_file(path: str | Path) -> bytes:
    """The bytes of a file; of one that is too large just enough to see that (S124).

    Raises InputError in words for the person. A document given in the place of its path is not quoted, for its words
    are a client's.
    """
    try:
        with Path(path).open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        if str(path).lstrip("\ufeff \t\r\n")[:1] in ("{", "[", "<"):
            raise InputError(
                "A text was given that is no path of a file.", "Give a document itself as bytes: text.encode()."
            ) from None
        why = error.strerror if isinstance(error, OSError) else "no file can have this name"
        raise InputError(f"{str(path)[:200]} cannot be read: {why}.", "Check the name and the folder.") from None
