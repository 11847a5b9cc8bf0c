"""The front door: `visit-bridge` and its commands, each in a file of its own, loaded when it is asked for.

Exit codes: 0 nothing at or above `--fail-on`; 1 something; 2 wrong use; 3 could not go on.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from importlib import import_module
from typing import Any, cast

import click

from bridge import __version__
from bridge.cli.guard import ReaderGoneError, guarded

COMMANDS = {
    "setup": "Ask for your clinic once and write a practice folder.",
    "demo": "Convert the records of an invented clinic, to see how it goes.",
    "convert": "Turn your visit records into checked documents.",
    "check": "Check records or received documents; none of them is changed.",
    "layout": "Draft the layout of your own sheet, and see what it reads.",
    "letter": "Make letters that a person reads, of documents or of your records.",
    "send": "Send finished bundles to the FHIR server of whom they are for.",
    "handover": "Hand over one client's whole record, signed and sealed.",
    "receive": "Take over what arrived, as visit files.",
    "audit": "Say how consistently things are coded, by whom, and what to do.",
    "deidentify": "Take out of visits who they are about, for teaching or an audit.",
    "keys": "Make the keys that sign and seal parcels, and trust those of others.",
    "terms": "Show which meaning and which codes your words get.",
    "explain": "Say what a rule means, why it matters and what to do.",
    "rules": "List the clinical rules: severity, status, day of review.",
    "schema": "Print the JSON Schema of a visit, for editors and programs.",
}
"""Name of each command and its line in `--help`. `bridge/cli/<name>.py` holds it as `command`."""


class Front(click.Group):
    """A group that knows its commands by name and imports only the one that is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        return cast(click.Command, import_module(f"bridge.cli.{cmd_name}").command)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            # click would make it exit code 1, which here means that issues were found.
            raise ReaderGoneError from None

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """Runs a command line. Standing alone it always ends in SystemExit with one of our exit codes."""
        run = partial(super().main, args, prog_name, complete_var, standalone_mode=False, **extra)
        return guarded(run) if standalone_mode else run()


@click.command(
    cls=Front,
    name="visit-bridge",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog="Exit codes: 0 all well, 1 something needs you, 2 wrong use, 3 could not go on.",
)
@click.version_option(__version__, prog_name="visit-bridge", message="%(prog)s %(version)s")
def main() -> None:
    """From an ear-care practice's own visit records to checked HL7 FHIR R4 documents.

    It checks the record, not the patient: local rules and licensed practice come first.

    \b
    Examples:
      visit-bridge demo
      visit-bridge explain
    """
