"""`visit-bridge terms adopt`: what the practice says of its own words becomes its own table of terms."""

from __future__ import annotations

import json
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing, json_option, practice_option

if TYPE_CHECKING:
    from bridge.coding.adopt import Adoption
    from bridge.coding.answers_sheet import Answer
    from bridge.issues import Report

WIDTH = 80


@click.command("adopt")
@click.argument("sheet", metavar="SHEET", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--by", metavar="INITIALS", default="", help="Who decided, where the column “Who” is empty.")
@click.option("--on", metavar="DATE", default="", help="The day, where “When” is empty. Default: today.")
@click.option("--dry-run", is_flag=True, help="Check the answers and show what would be added; write nothing.")
@practice_option
@json_option
@click.pass_context
def command(
    ctx: click.Context, sheet: Path, by: str, on: str, dry_run: bool, practice: Path | None, as_json: bool
) -> None:
    """Take over what you answered on a sheet of words.

    SHEET is the file that `visit-bridge check RECORDS --words FILE` wrote (or a
    marked copy with its sheet “Words”), with your answers under “Means”, “Why”,
    “Who” and “When”. Each answer becomes a row of `terms/adopted.csv` in your
    practice folder, which is looked up before the shipped tables. Nothing is
    written where any answer is wrong; the exit code is 1 then.

    \b
    Examples:
      visit-bridge terms adopt answered.csv --by PS --dry-run
      visit-bridge terms adopt answered.csv --by PS --on 2026-05-03
    """
    from datetime import date

    from bridge.cli.finish import show
    from bridge.coding import load_term_maps
    from bridge.coding.adopt import adopt
    from bridge.coding.adopted_file import add_rows
    from bridge.coding.answers_sheet import day_of
    from bridge.issues import Report
    from bridge.practice import find_practice, load_practice

    day = day_of(on) if on else None
    if on and day is None:
        raise click.UsageError(f"--on {on!r} is no day that can be read in one way only; write it as 2026-05-03.")
    folder = find_practice(practice)
    settings, issues = load_practice(folder)
    if settings is None:
        show(Report(issues), Showing("json" if as_json else "text"))
        ctx.exit(3)
    licensed = settings.codes == "licensed"
    maps = load_term_maps(folder, licensed=licensed, version=settings.snomed_version)
    answers, empty = _answers(sheet)
    done = adopt(answers, maps, date.today(), by.strip(), day)
    write = bool(done.rows) and not done.issues and not dry_run
    if write:
        add_rows(folder, done.rows)
    _tell(done, empty, dry_run=dry_run, written=write, as_json=as_json)
    ctx.exit(1 if done.issues else 0)


def _answers(path: Path) -> tuple[list[Answer], int]:
    """The answers of the first table in the file that is a sheet of words."""
    from bridge.coding.answers_sheet import known_answer_headings, read_answers
    from bridge.errors import InputError
    from bridge.read.headings import heading
    from bridge.read.table import open_tables

    known = known_answer_headings()
    first: InputError | None = None
    for table in open_tables(path, known=known):
        headings, start = heading(table, known)
        rows = ((raw.number, raw.cells) for raw in table.rows() if raw.number >= start)
        try:
            return read_answers(headings, rows, table.file, table.sheet)
        except InputError as error:
            first = first or error
    raise first or InputError(f"{path.name} holds no sheet.", "Check that the right file was saved.")


def _tell(done: Adoption, empty: int, *, dry_run: bool, written: bool, as_json: bool) -> None:
    from bridge.cli.finish import show
    from bridge.report.as_json import to_json

    report = _report(done, empty, dry_run=dry_run, written=written)
    if as_json:
        told = {**to_json(report), "adopted": done.rows, "written": written}
        click.echo(json.dumps(told, indent=2))
        return
    for row in done.rows if not done.issues else ():
        own = "your own term, without a code" if row["concept"].startswith("own-") else row["label"]
        click.echo("\n".join(wrap(f"“{row['words']}” ({row['kind']}): {own}", WIDTH, subsequent_indent="  ")))
    show(report, Showing())


def _report(done: Adoption, empty: int, *, dry_run: bool, written: bool) -> Report:
    from bridge.issues import Report

    figures = {"answers": len(done.rows) + done.known + len({i.where.row for i in done.issues})}
    name = "would be adopted" if dry_run and not done.issues else "adopted"
    figures[name] = len(done.rows) if written or (dry_run and not done.issues) else 0
    figures["known already"] = done.known
    figures["wrong"] = len({i.where.row for i in done.issues})
    figures["words without an answer"] = empty
    return Report(list(done.issues), figures)
