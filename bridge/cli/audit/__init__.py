"""`visit-bridge audit`: is the same thing always coded the same way? Each of its commands has a file here."""

from __future__ import annotations

from importlib import import_module
from typing import cast

import click

COMMANDS = {
    "run": "Measure how consistently records are coded, and show what to mend.",
    "figures": "Write one clinic's numbers without client data, to give away.",
    "roll-up": "Add the figures of many clinics, and name those that are missing.",
    "sample": "Write a blind sheet on which a second person codes records again.",
    "agree": "Say how far the coders of filled sheets agree.",
    "changes": "Say which records two editions of the maps read differently.",
}
"""Name of each command and its line in `--help`. `bridge/cli/audit/<name>.py` holds it as `command`."""


class Lazy(click.Group):
    """A group that imports only the command that is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        return cast(click.Command, import_module(f"bridge.cli.audit.{cmd_name.replace('-', '_')}").command)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.command("audit", cls=Lazy)
def command() -> None:
    """Say how consistently things are coded, by whom, and what to do.

    It judges records, never a person: the numbers of a few records say little
    about whoever wrote them.

    \b
    Examples:
      visit-bridge audit run visits-2026.csv
    """
