"""Documents of others can be audited without a practice folder: by the shipped words and rules, for nobody's region."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing

if TYPE_CHECKING:
    from bridge.pipeline import Converter

_PRACTICE = {
    "clinic": {"name": "-"},
    "practitioners": [{"key": "-", "name": {"family": "-"}, "role": "-", "no_register": True}],
    "time_zone": "UTC",
    "region": "international",
    "namespace": "00000000-0000-0000-0000-000000000000",
}


def converter_for(practice: Path | None, paths: Sequence[Path], showing: Showing) -> tuple[Converter, str]:
    """A converter, and the clinic's name; without one, where no practice folder is found and no record is named."""
    from bridge.cli.records import open_practice, told_apart
    from bridge.errors import SettingsError
    from bridge.practice import find_practice

    try:
        find_practice(practice)
    except SettingsError:
        documents, records, _ = told_apart(paths)
        if practice is None and documents and not records:
            return _for_nobody(), ""
    opened = open_practice(practice, showing)
    return opened, opened.practice.clinic.name


def _for_nobody() -> Converter:
    from tempfile import TemporaryDirectory

    from bridge.pipeline import Converter
    from bridge.practice import Practice

    empty = click.get_current_context().with_resource(TemporaryDirectory(prefix="visit-bridge-"))
    return Converter(Practice.model_validate(_PRACTICE), Path(empty))
