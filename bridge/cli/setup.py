"""`visit-bridge setup`: asks for the clinic once and writes the practice folder."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click


@click.command("setup")
@click.argument("folder", default=".", type=click.Path(file_okay=False, path_type=Path))
@click.option(
    "--answers",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Take the answers from this YAML file, spelt as in practice.yaml, and ask nothing.",
)
def command(folder: Path, answers: Path | None) -> None:
    """Ask for your clinic once and write a practice folder.

    FOLDER is where it goes (default: here). Nothing that is there already is
    overwritten. The other commands find it from any folder inside it.

    \b
    Examples:
      visit-bridge setup "my practice"
      visit-bridge setup practice --answers answers.yaml
    """
    from bridge.practice import new_folder

    _refuse_to_overwrite(folder, list(new_folder.folder_files({})))
    settings = _from_questions() if answers is None else _from_file(answers)
    files = new_folder.folder_files(settings)
    _check(files["practice.yaml"])
    if answers is None:
        _show(folder, files)
        if not click.confirm("Write these files?", default=True):
            raise click.Abort
    new_folder.write_folder(folder, files)
    click.echo(f"Written in {folder}: {', '.join(files)}.")
    click.echo("Next: fill doctors.csv with the family doctors' practices that you write to.")


def _refuse_to_overwrite(folder: Path, names: list[str]) -> None:
    from bridge.practice.new_folder import in_the_way

    there = in_the_way(folder, dict.fromkeys(names, ""))
    if there:
        click.echo(f"{folder} has {', '.join(there)} already; nothing was overwritten.", err=True)
        click.echo("Change those files in a text editor, or name another folder.", err=True)
        click.get_current_context().exit(1)


def _from_questions() -> dict[str, Any]:
    from bridge.cli.setup_questions import ask_all

    return _with_namespace(ask_all())


def _from_file(path: Path) -> dict[str, Any]:
    """Settings from an answers file; shows every problem of it and ends with 1 where one is an error."""
    from bridge.issues import Where, issue
    from bridge.marked_yaml import MarkedYamlError, load_marked
    from bridge.practice.practice_yaml import check_settings

    try:
        data, places = load_marked(path.read_bytes())
    except MarkedYamlError as error:
        text = f"{path.name} {error.message}."
        _tell([issue("R301", text, Where(path.name, row=error.line, column=error.column))])
        click.get_current_context().exit(1)
    settings = _with_namespace(data) if isinstance(data, dict) else data
    practice, issues = check_settings(settings, places, file=path.name)
    _tell(issues)
    if practice is None:
        click.get_current_context().exit(1)
    return dict(settings)


def _with_namespace(settings: dict[str, Any]) -> dict[str, Any]:
    """With the namespace that the answers bring along from before, or a new one."""
    from uuid import uuid4

    return settings if settings.get("namespace") else {**settings, "namespace": str(uuid4())}


def _check(text: str) -> None:
    """Reads back what is going to be written, as every later command will."""
    from bridge.practice.practice_yaml import read_settings

    practice, issues = read_settings(text.encode("utf-8"))
    if practice is None:
        _tell(issues)
        click.get_current_context().exit(1)


def _tell(issues: list[Any]) -> None:
    from bridge.cli.finish import show
    from bridge.cli.options import Showing
    from bridge.issues import Report

    if issues:
        show(Report(issues), Showing(), sys.stderr)


def _show(folder: Path, files: dict[str, str]) -> None:
    click.echo(f"\nThis goes into {folder / 'practice.yaml'}:\n")
    click.echo(files["practice.yaml"])
    click.echo(f"With it: {', '.join(name for name in files if name != 'practice.yaml')}.")
