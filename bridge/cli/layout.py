"""`visit-bridge layout`: drafts a layout from a sheet, and shows what a layout reads."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bridge.cli.layout_target import (
    is_dash,
    keep_answers,
    may_write,
    refuse_to_overwrite,
    target_of,
    tell_written,
    write_page,
)  # fmt: skip
from bridge.cli.options import json_option, practice_option

if TYPE_CHECKING:
    from bridge.drafting import Draft

samples_option = click.option("--samples", is_flag=True, help="With --json: show cells too, also of clients.")


@click.group("layout")
def command() -> None:
    """Draft the layout of your own sheet, and see what it reads.

    \b
    Examples:
      visit-bridge layout draft visits-2026.csv
      visit-bridge layout check visits-2026.csv
    """


@command.command("draft")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--to", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path, allow_dash=True),
              help="Write the layout here; a lone dash prints it.")  # fmt: skip
@click.option("--sheet", default="", metavar="NAME", help="Which worksheet, or which table of a database.")
@click.option("--ask", "asking", is_flag=True, help="Ask me what the sheet does not tell, worst first.")
@click.option("--replace", is_flag=True, help="Write over a file that is there already.")
@samples_option
@practice_option
@json_option
@click.pass_context
def draft(
    ctx: click.Context, file: Path, to: Path | None, sheet: str, asking: bool, replace: bool, samples: bool,
    practice: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Propose a layout from a sheet's headings and cells.

    Each column is told with what it becomes, how sure that is, and why. A side,
    a consent or "normal" that the sheet does not prove is a question: `ask`
    stands in the layout until you answer it, there or with --ask. The exit code
    is 1 while a question is open.

    With --ask the layout is written to `layouts` in your practice folder, or,
    where there is none, beside you as NAME.layout.yaml. A sheet that has a
    layout already is asked about its new columns only.

    \b
    Examples:
      visit-bridge layout draft visits-2026.csv
      visit-bridge layout draft visits-2026.csv --ask
      visit-bridge layout draft visits-2026.csv --to layouts/ours.yaml
    """
    from bridge.cli.layout_questions import StoppedError, ask_all
    from bridge.drafting import all_kept, as_data, as_lines, layout_page, missing, open_questions, take_over
    from bridge.drafts import draft_file, own_layout
    from bridge.safe_text import shown

    refuse_to_overwrite(ctx, to, replace)
    folder = _folder(practice)
    found = draft_file(file, sheet, folder)
    known, layout = own_layout(found.sheet.headings, file, folder, None if is_dash(to) else to)
    if known:
        found = take_over(found, layout)
        click.echo(f"Taken over from {known}: what it says already.", err=True)
    target = to or (target_of(file, folder, known) if asking else None)
    if asking and to is None and known and all_kept(found):
        click.echo("It names every column of this sheet, and nothing is open in it.\nNothing was written.")
        ctx.exit(0)
    if asking:
        try:
            found = ask_all(found, _staff(folder))
        except StoppedError as stopped:
            keep_answers(stopped.draft, file, None if is_dash(target) else target)
            raise click.Abort from None
        found.missing = missing(found, settled=True)
    questions = open_questions(found)
    page = layout_page(found)
    written = target is not None and not is_dash(target) and may_write(target, replace)
    if written and target:
        write_page(page, target)
    if as_json:
        click.echo(json.dumps(as_data(found, samples=samples), indent=2, ensure_ascii=False))
    elif not is_dash(to):
        click.echo("\n".join(map(shown, as_lines(found))))
        click.echo(_summary(found, len(questions)))
    if is_dash(target):
        click.echo(page, nl=False)
    elif written and target:
        tell_written(target, open_questions=bool(questions), err=as_json)
    elif not as_json:
        click.echo("Nothing was written; --to FILE writes the layout.")
    ctx.exit(1 if questions or found.missing else 0)


def _staff(folder: Path | None) -> list[tuple[str, str]]:
    """The practice's people, by the keys that records write; none where there is no practice."""
    from bridge.practice import load_practice

    settings = load_practice(folder)[0] if folder else None
    people = settings.practitioners if settings else ()
    return [(p.key, next(iter(p.full_names()), "")) for p in people]


def _summary(found: Draft, questions: int) -> str:
    if questions:
        what = f"{questions} question{'s' if questions != 1 else ''}"
        return f"\n{what} left open; --ask puts them to you one by one."
    if found.missing:
        return "\nA column that every visit needs is missing; without it the layout is not used."
    return "\nNothing is left open. Read it all the same: nobody knows your sheet as you do."


def _folder(practice: Path | None) -> Path | None:
    """The practice folder, for its own words; None where there is none and none was named."""
    from bridge.errors import SettingsError
    from bridge.practice import find_practice

    try:
        return find_practice(practice)
    except SettingsError:
        if practice is not None:
            raise
        return None


@command.command("check")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--layout", "named", metavar="FILE", type=click.Path(exists=True, dir_okay=False, path_type=Path),
              help="The layout. Default: the one of your practice, or of those shipped, that fits.")  # fmt: skip
@samples_option
@practice_option
@json_option
@click.pass_context
def check(
    ctx: click.Context, file: Path, named: Path | None, samples: bool, practice: Path | None, as_json: bool
) -> None:
    """Show what a layout reads from a sheet: its columns, and three rows.

    Told are the columns that the layout does not name, those that it wants and
    the sheet lacks, and what each cell of the first, the middle and the last
    row became. Nothing is written. The exit code is 1 where something is wrong.

    \b
    Examples:
      visit-bridge layout check visits-2026.csv
      visit-bridge layout check visits-2026.csv --json
    """
    from bridge.cli.layout_rows import as_data, as_lines
    from bridge.drafts import try_layout
    from bridge.issues import Severity
    from bridge.safe_text import shown

    layouts, zone = _layouts(named, practice, file)
    trials = list(try_layout(file, layouts, zone))
    if as_json:
        data: list[dict[str, Any]] = [as_data(trial, samples=samples) for trial in trials]
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(shown(line) for trial in trials for line in as_lines(trial)))
    wrong = any(i.severity >= Severity.error for trial in trials for i in trial.issues)
    ctx.exit(1 if wrong or any(t.missing for t in trials) else 0)


def _layouts(named: Path | None, practice: Path | None, file: Path) -> tuple[Any, Any]:
    """The layouts to choose from, and the clinic's time zone (UTC where there is no practice folder)."""
    from zoneinfo import ZoneInfo

    from bridge.data import table_path
    from bridge.layout import load_layout, load_layouts
    from bridge.pipeline import Converter
    from bridge.practice import load_practice

    folder = _folder(practice)
    settings = load_practice(folder)[0] if folder else None
    zone = settings.zone if settings else ZoneInfo("UTC")
    if named:
        return load_layout(named), zone
    if settings and folder and (own := Converter(settings, folder).layout(file)):
        return own, zone
    return load_layouts(table_path("layouts")), zone
