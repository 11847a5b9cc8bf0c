"""`visit-bridge audit run`: how consistently records are coded, for a lead, a program, a spreadsheet, a browser."""

from __future__ import annotations

from pathlib import Path

import click

from bridge.cli.audit.months import months_option, period
from bridge.cli.audit.written import replace_option
from bridge.cli.options import FAIL_ON, Showing, json_option, practice_option


@click.command("run")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@click.option(
    "--html", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path), help="Write a page with charts."
)
@click.option("--csv", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path), help="Write the findings.")
@months_option
@click.option("--show-few", is_flag=True, help="Show practitioners and months with fewer than 5 records too.")
@click.option("--floor", multiple=True, metavar="NAME=PERCENT",
              help="Fail where a rate is lower: coded, sided, consistency, agreement. Repeatable.")  # fmt: skip
@click.option("--ceiling", multiple=True, metavar="NAME=PERCENT",
              help="Fail where a rate is higher: text-only, unspecific, retired, conflicts. Repeatable.")  # fmt: skip
@click.option(
    "--fail-on",
    type=click.Choice((*FAIL_ON, "never")),
    default="error",
    show_default=True,
    help="Least severity of a pattern that makes the exit code 1.",
)
@click.option("--quiet", "-q", is_flag=True, help="Only what fails; nothing at all when all is well.")
@click.option("--verbose", "-v", is_flag=True, help="Every pattern, term, practitioner and month.")
@replace_option
@practice_option
@json_option
def command(
    sources: tuple[Path, ...],
    layout: Path | None,
    html: Path | None,
    csv: Path | None,
    months: str | None,
    show_few: bool,
    floor: tuple[str, ...],
    ceiling: tuple[str, ...],
    fail_on: str,
    quiet: bool,
    verbose: bool,
    replace: bool,
    practice: Path | None,
    as_json: bool,
) -> None:
    """Measure how consistently records are coded, and show what to mend.

    SOURCE is a record that `convert` takes, a FHIR document, or a folder of them.
    Documents alone need no practice folder. Each visit counts once, in its newest
    version: a record before the documents made of it.

    Told are completeness, sides, words without a code, unspecific and retired
    codes, whether the same words get the same code, how far practitioners agree,
    what changed over the months, and which known patterns of inconsistency the
    records show, each with its rule, where it was seen and what to do.

    Records are named by number and place, never by client. Nothing in them is
    changed. The numbers are about records: they do not judge a person, and groups
    of fewer than 5 records are not told.

    Limits can stand in practice.yaml too (audit: floors, ceilings); an option
    goes before them.

    \b
    Examples:
      visit-bridge audit run visits-2026.csv
      visit-bridge audit run visits-2026.csv --html audit.html --csv audit.csv
      visit-bridge audit run visits-2026.csv --floor coded=80 --quiet
      visit-bridge audit run M26-0101.bundle.json M26-0102.bundle.json --json
      visit-bridge audit run . --verbose --fail-on never
    """
    from bridge.audit.report.floors import CEILINGS, FLOORS, missed
    from bridge.cli.audit.limits import limits
    from bridge.cli.audit.looked_over import looked_over, shown
    from bridge.cli.audit.written import refuse, write

    floors, ceilings = limits(floor, "--floor", FLOORS), limits(ceiling, "--ceiling", CEILINGS)
    refuse({"--html": html, "--csv": csv}, sources, replace)
    showing = Showing("json" if as_json else "text", quiet, verbose)
    audited, converter, clinic = looked_over(sources, layout, practice, showing, (html, csv), period(months))
    own_floors, own_ceilings = converter.practice.audit.limits()
    audited.issues += missed(audited, own_floors | floors, own_ceilings | ceilings)
    failed = shown(audited, showing, fail_on, show_few=show_few)
    if html:
        from bridge.audit.report.as_html import to_html

        write(html, to_html(audited, clinic=clinic, show_small=show_few))
    if csv:
        from bridge.audit.report.as_csv import to_csv

        write(csv, to_csv(audited))
    click.get_current_context().exit(1 if failed else 0)
