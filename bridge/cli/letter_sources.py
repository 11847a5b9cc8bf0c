"""What `letter` does with each kind of source: documents that are there already, and records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.cli.options import Showing
from bridge.issues import Severity, Where

if TYPE_CHECKING:
    from bridge.cli.chosen import Chosen
    from bridge.cli.desk import Desk
    from bridge.pipeline import Converter

FOLDER = Path("letters")
"""Where the letters of records go unless another folder is named."""


def of_documents(
    documents: Sequence[Path], desk: Desk, chosen: Chosen, practice: Path | None, showing: Showing, *, alone: bool
) -> None:
    """Hands out the letters of those documents that are without errors and asked for."""
    from bridge.about_document import about
    from bridge.cli.looked_at import looked_at
    from bridge.deliver import FileNames
    from bridge.received import SecondLook, document_stem

    look, names, report = SecondLook(practice), FileNames(), desk.report
    for path, data, issues in looked_at(documents, report, showing, alone=alone):
        said = about(data)
        if chosen and not chosen.document(said):
            report.count("documents not asked for")
            continue
        report.extend(issues)
        if data is None or any(i.severity >= Severity.error for i in issues):
            report.count("without a letter")
            continue
        stem = names.stem(said.number, said.version) if said.number else document_stem(path.name)
        report.extend(look.warnings(data, path.name, issues))
        desk.hand_out(data, said, stem, path.parent, Where(file=path.name))


def of_records(
    records: Sequence[Path], desk: Desk, chosen: Chosen, layout: Path | None, converter: Converter, showing: Showing
) -> None:
    """Hands out the letters of the records that are asked for: those that are due, or the client's own copies."""
    from bridge.about_document import about
    from bridge.cli.records import new_report, run
    from bridge.deliver import FileNames
    from bridge.pipeline import Kind, names_of

    before, desk.report = desk.report, new_report(converter)
    desk.report.extend(i for i in before.issues if i not in set(converter.issues))
    desk.report.figures.update(before.figures)
    desk.report.files += before.files
    kind: Kind = "client" if desk.wish.reader == "client" else "document"
    names, folder = FileNames(), desk.folder or FOLDER
    for conversion in run(converter, records, layout, kind, desk.report, showing, chosen or None):
        if (visit := conversion.visit) is None:
            continue
        stem = names.stem(visit.number, visit.version)
        if conversion.state == "not asked for":
            continue
        for name in names_of(kind):
            if bundle := conversion.bundles.get(name):
                desk.hand_out(bundle, about(bundle), stem, folder, replace(conversion.where, record=visit.number))
            else:
                desk.tell_left(stem, [name], folder)
