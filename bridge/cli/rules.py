"""`visit-bridge rules`: the clinical rules that hold, how far each is vouched for, and what the practice changed."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from bridge.cli.explain_clinical import REGIONS, Clinical, clinical
from bridge.cli.options import json_option, practice_option
from bridge.clinical_caution import clinical_caution
from bridge.issues import Rule

WIDTH = 80


@click.command("rules")
@click.option("--region", type=click.Choice(sorted(REGIONS)), help="Only those that hold there.")
@practice_option
@json_option
def command(region: str | None, practice: Path | None, as_json: bool) -> None:
    """List the clinical rules: severity, status, day of review.

    A rule advises and names its source; it decides nothing. What your practice
    folder adds or changes (its folder clinical) is listed with it.

    \b
    Examples:
      visit-bridge rules
      visit-bridge rules --region uk
      visit-bridge rules --json
    """
    import json

    from bridge.issues import rules

    own, said = clinical(practice)
    pages = {**rules(), **own}
    chosen = [
        pages[code] for code in said if not (region and pages[code].regions and region not in pages[code].regions)
    ]
    if as_json:
        click.echo(json.dumps([_as_data(page, said[page.code]) for page in chosen], indent=2))
    else:
        click.echo("\n".join(table(chosen, said)))


def table(pages: list[Rule], said: Mapping[str, Clinical]) -> Iterator[str]:
    """Two lines or three for each rule, then how many there are of each status."""
    for page in pages:
        flag = f"{page.flag}, {page.urgency}: " if page.flag else ""
        yield from textwrap.wrap(f"{page.code}  {flag}{page.title}", WIDTH, subsequent_indent="      ")
        where = f"; {', '.join(page.regions)} only" if page.regions else ""
        about = f"{page.severity.name}; {page.status}{where}; reviewed {page.reviewed}"
        yield from textwrap.wrap(about, WIDTH, initial_indent="      ", subsequent_indent="      ")
        changed = said[page.code].changed
        yield from textwrap.wrap(changed, WIDTH, initial_indent="      ", subsequent_indent="      ")
    yield ""
    counts = Counter(page.status for page in pages)
    told = ", ".join(f"{number} {status}" for status, number in counts.most_common())
    changed_count = sum(bool(said[page.code].changed) for page in pages)
    changes = f"; {changed_count} changed by the practice" if changed_count else ""
    yield from textwrap.wrap(f"{len(pages)} rules: {told}{changes}.", WIDTH)
    yield from textwrap.wrap(clinical_caution(), WIDTH)


def _as_data(page: Rule, said: Clinical) -> dict[str, Any]:
    kept = ("code", "title", "status", "source", "flag", "urgency", "to", "regions", "reviewed")
    return {**{name: getattr(page, name) for name in kept}, "severity": page.severity.name, "changed": said.changed}
