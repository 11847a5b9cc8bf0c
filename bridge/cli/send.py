"""`visit-bridge send`: finished bundles to the FHIR server of a doctor, a service or the next clinic."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.cli.options import Showing, practice_option, showing_options

if TYPE_CHECKING:
    from bridge.deliver.server import Delivered


@click.command("send")
@click.argument(
    "bundles", nargs=-1, required=True, metavar="BUNDLE...",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)  # fmt: skip
@click.option(
    "--to", "name", required=True, metavar="NAME", help="An endpoint, or a row of doctors.csv that names one."
)
@click.option(
    "--receipts",
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where receipts are kept. Default: beside each bundle.",
)
@click.option("--again", is_flag=True, help="Send even what was accepted before, or is in doubt.")
@click.option("--dry-run", "dry", is_flag=True, help="Say what would leave and where to; nothing does.")
@click.option("--date", "at", metavar="WHEN", help="The day that consents are held against. Default: today.")
@practice_option
@showing_options
def command(
    bundles: tuple[Path, ...],
    name: str,
    receipts: Path | None,
    again: bool,
    dry: bool,
    at: str | None,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Send finished bundles to the FHIR server of whom they are for.

    BUNDLE is a file that `convert` or `letter` wrote, in JSON. Nothing leaves
    unless it is sound, as visit-bridge made it, approved, for the receiver whose
    server it is, and covered by the client's consent to share. A whole record goes
    only to the next clinic. Servers stand in practice.yaml under `endpoints`.

    It is sent once. A busy server is waited for; where an answer is lost, the
    server is asked whether it has the bundle, and what stays in doubt is told, also
    where you stop it with Ctrl-C. A receipt beside the bundle says what became of
    it. Sending the same bundle again stores nothing twice.

    \b
    Examples:
      visit-bridge send M26-0101.bundle.json --to aldersby-green --dry-run
    """
    from bridge.cli.finish import finish, show
    from bridge.cli.guard import STOPPED
    from bridge.deliver.server import Clock
    from bridge.fhir.files import read_file
    from bridge.issues import Made, Report
    from bridge.practice import find_practice, load_practice
    from bridge.sending import Sender, target

    when, folder = _moment(at), find_practice(practice)
    settings, told = load_practice(folder)
    report = Report(told)
    if settings is None:
        show(report, showing)
        click.get_current_context().exit(3)
    to = target(settings, name)
    clock = Clock(waiting=lambda last, seconds: _wait_told(to.endpoint.name, last, seconds, showing))
    sender = Sender(settings, folder, to, receipts=receipts, again=again, at=when, clock=clock)
    stopped = False
    try:
        for path in bundles:
            try:
                sent = sender.send(path, read_file(path), dry=dry)
            except KeyboardInterrupt:
                stopped = True
                break
            report.extend(sent.issues)
            report.count(sent.state)
            report.files.append(Made(str(sent.receipt or path), sent.state, sent.record))
            if showing.form == "text" and not showing.quiet:
                where = f" to {to.endpoint.name}, {to.endpoint.address}" if sent.state == "would be sent" else ""
                click.echo(f"{path.name}: {sent.state}{where}{f' ({sent.place})' if sent.place else ''}")
            if sent.stopped:
                stopped = True
                break
    finally:
        sender.close()
    if not stopped:
        finish(report, showing)
    rest = len(bundles) - len(report.files)
    if showing.form != "text" or report.issues or report.files:
        show(report, showing)
    click.echo(
        f"Stopped. {rest} {'bundle was' if rest == 1 else 'bundles were'} not sent." if rest else "Stopped.", err=True
    )
    click.get_current_context().exit(STOPPED)


def _wait_told(name: str, last: Delivered, seconds: float, showing: Showing) -> None:
    """What is waited for, on a terminal: it may be minutes."""
    import sys

    if showing.quiet or showing.form != "text" or not sys.stderr.isatty():
        return
    status = f" (HTTP {last.status})" if last.status else ""
    then = "asked whether it has it" if last.why == "in doubt" else "tried again"
    click.echo(f"{name}: {last.told}{status}. In {seconds:.0f} s it is {then}; Ctrl-C stops.", err=True)


def _moment(at: str | None) -> str:
    if at is None:
        return ""
    from bridge.visit.base import check_when

    try:
        return check_when(at)
    except ValueError:
        raise click.BadParameter("is no day such as 2026-11-26", param_hint="--date") from None
