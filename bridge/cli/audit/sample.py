"""`visit-bridge audit sample`: a blind sheet for a second coder."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from bridge.cli.audit.written import put, refuse, replace_option
from bridge.cli.options import Showing, json_option, practice_option
from bridge.errors import InputError

if TYPE_CHECKING:
    from bridge.audited_sample import Sampled

MOST = 5_000
"""Lines of one sheet."""


@click.command("sample")
@click.argument("number", metavar="N", type=click.IntRange(1, MOST))
@click.argument("sources", metavar="SOURCE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--seed", metavar="TEXT", required=True, help="Any word or number; the same one draws the same lines.")
@click.option("--to", metavar="FILE.xlsx", required=True, type=click.Path(path_type=Path), help="The sheet to write.")
@click.option(
    "--by",
    type=click.Choice(("practitioner", "month", "kind")),
    default=None,
    help="Draw as many of each, as far as they reach.",
)
@replace_option
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@practice_option
@json_option
def command(
    number: int,
    sources: tuple[Path, ...],
    seed: str,
    to: Path,
    by: str | None,
    replace: bool,
    layout: Path | None,
    practice: Path | None,
    as_json: bool,
) -> None:
    """Write a blind sheet on which a second person codes records again.

    N things are drawn at random from the records in SOURCE. The sheet shows the
    words, their field and ear, and the meanings to choose from; never a code that
    was given, who wrote it, or whose record it is. Beside it goes FILE.key.json,
    which leads each line back to its record: keep it, do not give it to the
    coder. `visit-bridge audit agree` reads the filled sheet.

    \b
    Examples:
      visit-bridge audit sample 40 visits-2026.csv --seed may --to again.xlsx
      visit-bridge audit sample 9 . --seed may --by practitioner --to by.xlsx
    """
    from bridge.audit.sample import written_key
    from bridge.audit.sample.key import SUFFIX
    from bridge.audited import entries
    from bridge.audited_sample import sample
    from bridge.cli.finish import show
    from bridge.cli.records import open_practice
    from bridge.issues import Issue, Report
    from bridge.layout import load_layout
    from bridge.marking.recoding_book import recoding_book

    if to.suffix.casefold() != ".xlsx":
        raise click.UsageError("--to is the name of a workbook, and ends in .xlsx.")
    key = to.with_name(f"{to.stem}{SUFFIX}")
    refuse({"--to": to, "its key": key}, sources, replace)
    converter = open_practice(practice, Showing())
    told: list[Issue] = []
    met = entries(sources, converter, load_layout(layout) if layout else None, told)
    done = sample(met, converter.maps, number, seed, by or "")
    if told:
        show(Report(told), Showing(), sys.stderr)
    if not done.key.lines:
        raise InputError("No words that could be coded again were found in these records.", "Name other records.")
    put(to, recoding_book(done.sheet))
    put(key, written_key(done.key))
    if as_json:
        click.echo(json.dumps(_as_data(done, by, to, key), indent=2, ensure_ascii=False))
        return
    for line in _told(done, number, by, to, key):
        click.echo("\n".join(wrap(line, 80, subsequent_indent="  ", break_on_hyphens=False, break_long_words=False)))


def _as_data(done: Sampled, by: str | None, to: Path, key: Path) -> dict[str, object]:
    return {
        "sheet": done.key.name,
        "lines": len(done.key.lines),
        "drawn_from": done.drawn.of,
        "left_out": done.left_out,
        "groups": done.key.groups if by else {},
        "to": str(to),
        "key": str(key),
    }


def _told(done: Sampled, number: int, by: str | None, to: Path, key: Path) -> Iterator[str]:
    lines = len(done.key.lines)
    yield f"{to}: {lines} lines, drawn from {done.drawn.of} things. Give this to the second coder."
    yield f"{key}: leads the lines back to their records. Keep it, and do not give it to the coder."
    if lines < number:
        yield f"There were fewer than {number} things to draw, so all of them are on the sheet."
    if done.left_out:
        yield f"{done.left_out} things were left out, because their words may tell who somebody is."
    yield "Look through its words before you give it away: names that the record does not hold are not known here."
    if by:
        groups = done.drawn.groups
        thin = sorted(name or "not recorded" for name, size in groups.items() if size * len(groups) < lines)
        yield f"Spread over {len(groups)} groups by {by}."
        if done.drawn.too_many_groups:
            yield "That is the most that are kept apart: all others were taken as one of them, as not recorded."
        if thin:
            yield f"All that there is of: {', '.join(thin)}."
