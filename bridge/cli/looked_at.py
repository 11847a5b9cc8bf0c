"""Documents one by one as they are read and checked: what `check`, `letter` and `receive` begin with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.cli.options import Showing
from bridge.cli.records import MANY, progress
from bridge.errors import InputError
from bridge.issues import Issue, Report
from bridge.read.find import unread

if TYPE_CHECKING:
    from bridge.check.profiles import Asked


def looked_at(
    documents: Sequence[Path],
    report: Report,
    showing: Showing,
    *,
    alone: bool,
    second: bool = False,
    asked: Asked | None = None,
) -> Iterator[tuple[Path, Any, list[Issue]]]:
    """Each document with its data (None where there is none to be had) and what was found in it.

    One that cannot be opened at all is told; raises InputError where it was the only source named. `second` and
    `asked` are for `check_received`.
    """
    from bridge.fhir.files import read_file
    from bridge.received import check_received

    with progress("Documents", len(documents), len(documents) >= MANY, showing) as seen:
        for path in documents:
            seen()
            try:
                data, issues = check_received(read_file(path), path.name, second, asked)
            except InputError as error:
                if alone:
                    raise
                report.extend([unread(path, error)])
                report.count("documents that cannot be read")
                continue
            yield path, data, issues
