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
    read = _read(sources) if any(path.exists() for path in named.values()) else set()
    for path in named.values():
        if path.resolve() in read:
            raise click.UsageError(f"{path} is one of the sources, and is not written over.")
        if path.exists() and _of_practice(path.resolve()):
            raise click.UsageError(f"{path} belongs to a practice folder, and is not written over.")
        if path.exists() and not replace:
            raise click.UsageError(f"{path} is there already. Name another file, or say --replace.")


def _read(sources: Sequence[Path]) -> set[Path]:
    """Every file that is read, those of folders and patterns too."""
    from bridge.errors import BridgeError
    from bridge.read.find import find_sources

    found = {source.resolve() for source in sources}
    for source in sources:
        try:
            found |= {path.resolve() for path in find_sources([source], documents=True).paths}
        except BridgeError:
            continue  # what leads to nothing is told by whoever reads it
    return found


def _of_practice(path: Path) -> bool:
    """Settings, address book, or what stands in the folders for keys, layouts and words."""
    from bridge.read.find import OF_PRACTICE

    places = ((path.parent, path.name), (path.parent.parent, path.parent.name))
    return any(name in OF_PRACTICE and (folder / "practice.yaml").is_file() for folder, name in places)


def write(path: Path, text: str) -> None:
    """As `put`, and told unless the command is to be quiet."""
    put(path, text.encode("utf-8", "replace"))
    if not click.get_current_context().params.get("quiet"):
        click.echo(f"Written: {path}", err=True)


def put(path: Path, content: bytes) -> None:
    """For the owner's eyes alone, because it holds record numbers. Raises BridgeError."""
    from bridge.errors import BridgeError
    from bridge.safe_write import write_bytes

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(path, content, private=True)
    except OSError as error:
        raise BridgeError(f"{path} cannot be written: {error.strerror}.", "Name another file or folder.") from None
