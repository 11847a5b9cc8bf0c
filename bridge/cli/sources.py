"""The sources that a person names on the command line: files, folders, patterns, standard input."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bridge.read.find import Sources

STANDARD_INPUT = "standard input"
"""The name by which messages tell of what came in that way."""


@contextmanager
def sources_named(names: Sequence[Path], *, documents: bool = False) -> Iterator[Sources]:
    """The files meant, for as long as they are read. `documents`: FHIR documents are wanted too.

    Standard input is kept in a private file, because records are read twice. Raises UsageError where a folder or a
    pattern leads to no record.
    """
    from bridge.read.find import NoSourceError, find_sources

    if not any(str(name) == "-" for name in names):
        try:
            yield find_sources(names, documents=documents)
        except NoSourceError as error:
            raise click.UsageError(f"{error.message} {error.help}") from None
        return
    import tempfile

    with tempfile.TemporaryDirectory(prefix="visit-bridge-") as folder:  # only its owner can open it
        spooled = Path(folder, STANDARD_INPUT)
        _spool(spooled)
        named = list(dict.fromkeys(spooled if str(name) == "-" else name for name in names))
        with sources_named(named, documents=documents) as found:
            yield found


def _spool(target: Path) -> None:
    import shutil

    target.touch(mode=0o600)
    with target.open("wb") as stream:
        shutil.copyfileobj(sys.stdin.buffer, stream)
