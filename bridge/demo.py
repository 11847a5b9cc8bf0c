"""Unpacks the demo practice and converts its records: what `visit-bridge demo` and `demo_bundles/` hold."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

from bridge.about_document import about
from bridge.client_summary import ClientRecords
from bridge.data import mappings_root
from bridge.deliver import FileNames, write_document
from bridge.errors import InputError
from bridge.issues import Severity
from bridge.letters import Wish, letters
from bridge.pipeline import Conversion, Converter, bundle_document
from bridge.shapes import Json

SOURCES = ("visits-2026.csv", "ears-2026.csv", "home-visits-2026.xlsx", "second-room-2026.sqlite")
VISIT_FILES = "visits"
_OURS = "# The settings of the demo practice."


def unpack(folder: Path) -> None:
    """Puts practice and records into the folder. Raises InputError where something else stands there."""
    settings = folder / "practice" / "practice.yaml"
    if folder.exists() and any(folder.iterdir()) and not _is_demo(settings):
        raise InputError(f"{folder} is not empty.", "Name a new folder: visit-bridge demo FOLDER")
    demo = mappings_root() / "demo"
    (folder / "practice").mkdir(parents=True, exist_ok=True)
    for name in ("practice.yaml", "doctors.csv"):
        shutil.copyfile(demo / name, folder / "practice" / name)
    shutil.copytree(mappings_root() / "layouts", folder / "practice" / "layouts", dirs_exist_ok=True)
    records = folder / "records"
    shutil.copytree(demo / VISIT_FILES, records / VISIT_FILES, dirs_exist_ok=True)
    for name in SOURCES:
        shutil.copyfile(demo / name, records / name)


def make_demo(folder: Path, converter: Converter) -> Iterator[Conversion]:
    """Converts the unpacked records into documents, letters and transactions under the folder.

    A summary of the whole record is written of each client who agreed to that; where no letter is due, the client's own
    copy.
    """
    names, records = FileNames(), ClientRecords(converter.practice, converter.checked)
    converter.scan(_sources(folder / "records"), None)
    for source in _sources(folder / "records"):
        for conversion in converter.convert(source, None):
            yield conversion
            records.take(conversion)
            visit = conversion.visit
            if visit is None or conversion.state == "need you":
                continue
            stem = names.stem(visit.number, visit.version)
            for name, bundle in conversion.bundles.items():
                write_document(bundle_document(bundle, stem, name), folder)
                _write_letters(bundle, stem, Wish(("pdf", "html", "cda")), folder)
            if not conversion.bundles:
                own, _ = converter.build(visit, "client", "client", conversion.alerts, conversion.earlier)
                _write_letters(own, stem, Wish(("pdf",), "client", data=False), folder)
            bundle, issues = converter.build(visit, "transaction", alerts=conversion.alerts, earlier=conversion.earlier)
            if not any(i.severity >= Severity.error for i in issues):
                write_document(bundle_document(bundle, stem, "transaction"), folder / "transactions")
    for summary in records.summaries():
        if summary.bundle and not summary.issues:
            write_document(bundle_document(summary.bundle, names.stem(summary.stem), "ips"), folder / "summaries")


def _write_letters(bundle: Json, stem: str, wish: Wish, folder: Path) -> None:
    for document, _ in letters(bundle, about(bundle), stem, wish):
        if document is not None:
            write_document(document, folder / ("cda" if document.name.endswith(".cda.xml") else "letters"))


def _sources(records: Path) -> list[Path]:
    return [*(records / name for name in SOURCES), *sorted((records / VISIT_FILES).glob("*.yaml"))]


def _is_demo(settings: Path) -> bool:
    try:
        return settings.read_text(encoding="utf-8").startswith(_OURS)
    except OSError:
        return False
