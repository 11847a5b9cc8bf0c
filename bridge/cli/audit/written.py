"""Files that the audit's commands write: refused before any work is done, written whole, never over a source."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from bridge.cli.options import Command


def replace_option(command: Command) -> Command:
    return click.option("--replace", is_flag=True, help="Write over files of an earlier run.")(command)


def refuse(targets: dict[str, Path | None], sources: Sequence[Path], replace: bool) -> None:
    """Raises UsageError. `targets`: option or name of the argument to the file, whose ending its last part gives."""
    named = {option: path for option, path in targets.items() if path is not None}
    places = [path.resolve() for path in named.values()]
    if len(set(places)) < len(places):
        raise click.UsageError(f"{' and '.join(named)} name the same file.")
    for path in named.values():
        if any(path.resolve() == source.resolve() for source in sources):
            raise click.UsageError(f"{path} is one of the sources, and is not written over.")
        if path.exists() and not replace:
            raise click.UsageError(f"{path} is there already. Name another file, or say --replace.")


def write(path: Path, text: str) -> None:
    """For the owner's eyes alone, because it holds record numbers. Raises OSError."""
    from bridge.safe_write import write_bytes

    path.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(path, text.encode("utf-8", "replace"), private=True)
    click.echo(f"Written: {path}", err=True)
