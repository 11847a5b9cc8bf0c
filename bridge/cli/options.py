"""Options that several commands share.

@click.command()
@practice_option
@showing_options
def command(practice: Path | None, showing: Showing) -> None: ...
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import click

from bridge.issues import Severity

FORMS = ("text", "json", "csv", "outcome")
FAIL_ON = ("information", "warning", "error")

Command = Callable[..., Any]


@dataclass(frozen=True, slots=True)
class Showing:
    """How a person wants to see a report, and what counts as failing."""

    form: str = "text"
    quiet: bool = False
    verbose: bool = False
    fail_on: Severity = Severity.error


def practice_option(command: Command) -> Command:
    """`--practice FOLDER`, passed as `practice: Path | None`; the cupboard finds it where it is not given."""
    return click.option(
        "--practice",
        metavar="FOLDER",
        envvar="VISIT_BRIDGE_PRACTICE",
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        help="Your practice folder. Default: VISIT_BRIDGE_PRACTICE, or the nearest one upwards from here.",
    )(command)


def json_option(command: Command) -> Command:
    """`--json`, passed as `as_json: bool`, for commands whose output is no report."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON, for programs.")(command)


def showing_options(command: Command) -> Command:
    """`--report --json --quiet --verbose --fail-on`, passed together as `showing: Showing`."""

    @click.option("--report", "form", type=click.Choice(FORMS), default="text", help="Form of the report.")
    @click.option("--json", "as_json", is_flag=True, help="Same as --report json.")
    @click.option(
        "--quiet", "-q", is_flag=True, help="Only what fails or needs attention now; nothing at all when all is well."
    )
    @click.option("--verbose", "-v", is_flag=True, help="Every place of every cause, not only the first few.")
    @click.option(
        "--fail-on",
        type=click.Choice(FAIL_ON),
        default="error",
        show_default=True,
        help="Least severity that makes the exit code 1.",
    )
    @wraps(command)
    def with_showing(
        *args: Any, form: str, as_json: bool, quiet: bool, verbose: bool, fail_on: str, **rest: Any
    ) -> Any:
        showing = Showing("json" if as_json else form, quiet, verbose, Severity[fail_on])
        return command(*args, showing=showing, **rest)

    return with_showing
