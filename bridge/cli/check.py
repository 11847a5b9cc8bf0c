"""`visit-bridge check`: records or bundles, told apart by looking."""

from __future__ import annotations

from pathlib import Path

import click

from bridge.cli.options import Showing, practice_option, showing_options


@click.command("check")
@click.argument("sources", nargs=-1, required=True, metavar="SOURCE...", type=click.Path(path_type=Path))
@click.option(
    "--layout",
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Layout of your sheets. Default: the one that your practice folder names or has.",
)
@click.option("--second-opinion", is_flag=True, help="Ask the fhir.resources package too (bundles; slower).")
@click.option(
    "--mark",
    metavar="FILE.xlsx|FOLDER",
    type=click.Path(path_type=Path),
    help="Write a copy of the records with the doubtful cells coloured and explained, and a sheet of what to do.",
)
@click.option(
    "--words",
    metavar="FILE.csv|.xlsx",
    type=click.Path(path_type=Path),
    help="Write the words that got no code, for you to say what they mean (see `terms adopt`).",
)
@click.option(
    "--profile",
    "profiles",
    multiple=True,
    metavar="URL|FILE",
    help="Hold documents against this profile too, whatever they claim: its address, or a file with it. Repeatable.",
)
@click.option(
    "--package",
    "packages",
    multiple=True,
    metavar="FILE.tgz|FOLDER",
    type=click.Path(exists=True, path_type=Path),
    help="Profiles to know beside those that are shipped: a FHIR package, or a folder of definitions. Repeatable.",
)
@click.option("--must-support", is_flag=True, help="Tell the must-support elements that are not there.")
@click.option("--explain-profile", is_flag=True, help="Show which profile and slice each element was held against.")
@practice_option
@showing_options
def command(
    sources: tuple[Path, ...],
    layout: Path | None,
    second_opinion: bool,
    profiles: tuple[str, ...],
    packages: tuple[Path, ...],
    must_support: bool,
    explain_profile: bool,
    mark: Path | None,
    words: Path | None,
    practice: Path | None,
    showing: Showing,
) -> None:
    """Check records or received documents; none of them is changed.

    SOURCE is a record that `convert` takes, a FHIR R4 bundle or resource in JSON
    or XML from wherever it came, a PDF that carries one, or CDA; which of them it
    is, is told by looking. A folder or a pattern stands for the files in it, a
    lone dash for standard input.

    Documents are held against the standard and against every profile that they
    claim (meta.profile). HL7's International Patient Summary, UK Core and R4's
    own profiles are known; --package and practice.yaml add others. What could
    not be decided is told as such. Clinical rules look over the visits of
    records and of documents that visits can be read from.

    Nothing is written but what --mark and --words ask for. A marked copy holds
    client data as your records do. It keeps the cells and their looks; charts,
    pictures and shapes may be missing in it. Your own files stay as they are.

    \b
    Examples:
      visit-bridge check visits-2026.csv
      visit-bridge check visits-2026.csv --mark marked.xlsx
      visit-bridge check visits-2026.csv ears-2026.csv --mark marked
      visit-bridge check visits-2026.csv --words our-words.csv
      visit-bridge check M26-0101.bundle.json --report json
      visit-bridge check M26-0101.bundle.json --report outcome
      visit-bridge check M26-0101.pdf
      visit-bridge check M26-0101.bundle.json --explain-profile
      visit-bridge check M26-0101.bundle.json --must-support
      cat M26-0101.bundle.json | visit-bridge check -
    """
    from dataclasses import replace

    from bridge.asked import asked_of
    from bridge.cli.finish import finish
    from bridge.cli.looked_at import looked_at
    from bridge.cli.marking import layouts_of_source, plan, plan_words, write_marked, write_words
    from bridge.cli.records import new_report, open_practice, run, told_apart
    from bridge.cli.sources import sources_named
    from bridge.issues import Report
    from bridge.read.find import unread
    from bridge.received import SecondLook, explained
    from bridge.words_asked import WordsAsked

    found = click.get_current_context().with_resource(sources_named(sources, documents=True))
    report = Report(found.issues)
    documents, records, refused = told_apart(found.paths)
    if not documents and not refused and (profiles or packages or must_support or explain_profile):
        raise click.UsageError(
            "--profile, --package, --must-support and --explain-profile are about FHIR documents, and none is named."
        )
    asked = None
    if documents:
        asked, told_of_asked = asked_of(practice, profiles, packages, must=must_support)
        report.extend(told_of_asked)
    look = SecondLook(practice)
    alone = len(found.paths) == 1
    for source, data, issues in looked_at(documents, report, showing, alone=alone, second=second_opinion, asked=asked):
        report.extend(issues)
        report.extend(look.over(data, source.name, issues) if data is not None else ())
        report.count("documents checked")
        if explain_profile:
            report.explained += [replace(one, file=source.name) for one in explained(data, asked)]
    planned = plan(mark, records) if mark else None
    if words:
        plan_words(words, records, mark)
    words_asked, converter = WordsAsked(), None
    if records and len(refused) == len(records):  # no practice is needed to say that nothing can be read
        report.extend(unread(source, error) for source, error in refused.items())
        planned = planned.without(refused) if planned else None
    elif records:
        from bridge.coding import OpenWords

        converter = open_practice(practice, showing)
        told, open_words = new_report(converter), OpenWords(converter.maps)
        for conversion in run(converter, records, layout, "document", told, showing):
            open_words.add(conversion.visit, conversion.issues)
        known = set(converter.issues)
        told.extend(found for found in report.issues if found not in known)
        told.figures.update(report.figures)
        told.explained += report.explained
        report, words_asked = told, open_words.asked()
        planned = planned.without(converter.unread) if planned else None
    if planned:
        report.count(
            "files written", write_marked(planned, layouts_of_source(converter, layout), report.issues, words_asked)
        )
    if words:
        write_words(words, words_asked)
        report.count("files written")
    finish(report, showing)
