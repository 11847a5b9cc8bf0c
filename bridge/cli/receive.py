"""`visit-bridge receive`: documents that arrived, taken over as visit files."""

from __future__ import annotations

from pathlib import Path

import click

from bridge.cli.options import Showing, showing_options


@click.command("receive")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "folder",
    default="received",
    show_default=True,
    metavar="FOLDER",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write; made where it is missing.",
)
@click.option("--replace", is_flag=True, help="Write over visit files that are there and say something else.")
@showing_options
def command(sources: tuple[Path, ...], folder: Path, replace: bool, showing: Showing) -> None:
    """Take documents that arrived over as visit files.

    SOURCE is a document that visit-bridge made, here or at another clinic: FHIR
    in JSON or XML, a PDF that carries its data, or CDA; a folder or a pattern of
    them, or a dash for standard input. It is checked first, and every visit in it
    becomes a file in YAML, called as its letter is (M26-0101.yaml), that `check`,
    `convert` and `letter` take as records. Summary, referral and client's copy of
    one visit hold different parts of it, and each makes a file of its own
    (M26-0128.referral.yaml): as records, keep the one that says most.

    A document is taken over as a whole or not at all: of one with errors, of
    another system, or that is the whole record of a client, nothing is written,
    and the report says why. A file that is there and says something else stays
    as it is unless you say --replace.

    \b
    Examples:
      visit-bridge receive M26-0101.bundle.json
      visit-bridge receive M26-0101.pdf M26-0102.cda.xml --to in
      cat M26-0101.bundle.json | visit-bridge receive - --to in
    """
    from bridge.about_document import about
    from bridge.cli.finish import finish
    from bridge.cli.looked_at import looked_at
    from bridge.cli.records import told_apart
    from bridge.cli.sources import sources_named
    from bridge.deliver import FileNames, Keeper, letter_name
    from bridge.errors import InputError
    from bridge.issues import Made, Report, Severity
    from bridge.read.find import unread
    from bridge.received_visits import visit_files
    from bridge.shapes import Document
    from bridge.visit_file import YAML_TYPE

    found = click.get_current_context().with_resource(sources_named(sources, documents=True))
    report, names, keeper = Report(found.issues), FileNames(), Keeper(replace=replace)
    documents, records, refused = told_apart(found.paths)
    for path in records:
        told = InputError(f"{path.name} is no document.", "`check`, `convert` and `letter` take records as they are.")
        report.extend([unread(path, refused.get(path, told))])
    report.count("documents looked at", 0)
    for path, data, issues in looked_at(documents, report, showing, alone=len(found.paths) == 1):
        report.count("documents looked at")
        report.extend(issues)
        if data is None or any(i.severity >= Severity.error for i in issues):
            report.count("not taken over")
            continue
        said, (visits, more) = about(data), visit_files(data)
        report.extend(i.at(file=path.name) for i in more)
        report.count("not taken over", int(not visits))
        for visit, content in visits:
            name = letter_name(names.stem(visit.number, visit.version), said.kind, "yaml", draft=said.draft)
            state, more = keeper.put(Document(name, YAML_TYPE, content), folder)
            report.extend(i.at(file=path.name, record=visit.number) for i in more)
            report.count(f"visit files {'not written over' if state == 'left' else state}")
            report.files.append(Made(str(folder / name), state, visit.number))
            if state in ("written", "replaced") and showing.form == "text" and not showing.quiet:
                click.echo(str(folder / name))
    finish(report, showing)
