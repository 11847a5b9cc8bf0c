"""`visit-bridge audit figures`: one clinic's numbers, to give to whoever adds those of many."""

from __future__ import annotations

from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any

import click

from bridge.cli.audit.months import months_option, period
from bridge.cli.audit.written import replace_option
from bridge.cli.options import Showing, practice_option

if TYPE_CHECKING:
    from bridge.audit.figures import About
    from bridge.pipeline import Converter


_LEFT_OUT = ("A193", "A194", "A195", "A196")
"""What is told of visits that would count twice, and of records that are none."""


@click.command("figures")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--to",
    metavar="FILE",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path, allow_dash=True),
    help="Write the figures here; a lone dash prints them.",
)
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@months_option
@click.option("--without-words", is_flag=True, help="Leave out all words of records, those of the trade too.")
@click.option("--quiet", "-q", is_flag=True, help="Only what fails.")
@replace_option
@practice_option
def command(
    sources: tuple[Path, ...],
    to: Path,
    layout: Path | None,
    months: str | None,
    without_words: bool,
    quiet: bool,
    replace: bool,
    practice: Path | None,
) -> None:
    """Write one clinic's numbers without client data, to give away.

    The file holds counts and shares, the months, the edition of the maps and your
    clinic's name. It names no record, no client and no practitioner. Counts below
    5 are withheld, and others from which they could be worked out; of the words
    of your records only those go out that the word lists know and that got one
    code 5 times or more.

    Each visit counts once, in its newest version: a record before the documents
    made of it. Look at the file before you send it: it is JSON and can be read.

    \b
    Examples:
      visit-bridge audit figures visits-2026.csv --to figures.json
      visit-bridge audit figures . --months 2026-01..2026-06 --to half-year.json
      visit-bridge audit figures visits-2026.csv --to - --without-words
    """
    import json

    from bridge.audit.figures import figures, refused
    from bridge.cli.audit.looked_over import echo_lines, looked_over
    from bridge.cli.audit.written import refuse, write
    from bridge.issues import Severity

    printed = str(to) == "-"
    if not printed:
        refuse({"--to": to}, sources, replace)
    targets = () if printed else (to,)
    audited, converter, clinic = looked_over(sources, layout, practice, Showing(quiet=quiet), targets, period(months))
    if not clinic:
        raise click.UsageError("Figures are of a clinic: run this in your practice folder, or name it with --practice.")
    failed = [one for one in audited.issues if one.severity >= Severity.error]
    failed += refused(audited)
    if failed:
        from bridge.audit.report.lines import issues_told

        echo_lines(list(issues_told(failed)), err=True)
        click.get_current_context().exit(1)
    maps = converter.maps
    known = None if without_words else lambda text: any(maps.find(kind, text) for kind in maps.kinds)
    data = figures(audited, about(converter), known)
    text = json.dumps(data, indent=1) + "\n"
    if printed:
        click.echo(text, nl=False)
    else:
        write(to, text)
    if not quiet:
        click.echo(told(data), err=True)
        for one in audited.issues:
            if one.rule in _LEFT_OUT:
                click.echo(fill(f"{one.rule} {one.message}", 80), err=True)


def about(converter: Converter) -> About:
    """Whose figures these are. The key is made from the practice's random namespace, and leads back to nothing."""
    from uuid import uuid5

    from bridge.audit.figures import About
    from bridge.coding import load_term_maps

    practice = converter.practice
    edition = max(concept.edition for concept in load_term_maps().concepts.values())
    return About(str(uuid5(practice.namespace, "audit figures")), practice.clinic.name, edition, practice.codes)


def told(data: dict[str, Any]) -> str:
    """What the file holds and what it does not, for whoever sends it."""
    from bridge.audit.report.words import many
    from bridge.audit.report.words import period as told_period

    months = told_period(data["period"]["first"], data["period"]["last"])
    return fill(
        f"Figures of {many(data['records'], 'record')}, {months}. {many(data['withheld'], 'small count')} withheld, "
        f"{many(data['words_left_out'], 'term')} left out.",
        80,
    )
