"""Which files are meant by the names that a person gave: files, folders, patterns."""

from __future__ import annotations

import glob
import os
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from bridge.came_with import PREFIX
from bridge.errors import BridgeError, InputError
from bridge.fhir.read_json import MAX_BYTES
from bridge.issues import Issue, Where, issue
from bridge.own_files import READ_ME, is_deidentified, is_own
from bridge.read.kinds import FHIR, may_hold_records, what_is
from bridge.read.locks import is_lock

MAX_FILES = 100_000
_SETTINGS = "practice.yaml"
OF_PRACTICE = frozenset({_SETTINGS, "doctors.csv", "keys", "layouts", "terms"})
"""What a practice folder holds beside records."""
_KEYS = "keys"
_IN_KEYS = ("signing-key", "sealing-key", "pseudonym-key", "known.csv")
_OURS = (".bundle.json", ".bundle.xml", ".marked.xlsx", ".marked.xlsm")
_BESIDE = (".kept.json", ".account.json")
"""What `receive` keeps beside visit files."""
_LAYOUT = (b"columns:", b"rows: visit", b"rows: ear")


class NoSourceError(InputError):
    """A folder or a pattern that leads to no file of records."""


@dataclass(slots=True)
class Sources:
    """Files to read, in order and each once, and what is told of others."""

    paths: list[Path] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)


def find_sources(names: Sequence[Path], *, documents: bool = False) -> Sources:
    """The files meant: those named one by one as they are; of folders and patterns, those that may be records.

    `documents`: documents are wanted too; of PDFs in a folder those that carry their data. Raises NoSourceError where a
    folder or a pattern holds no record.
    """
    found = Sources()
    seen: set[str] = set()
    for name in names:
        if is_lock(name.name):
            told = f"{name.name} is the mark of a spreadsheet program that has a file open, and holds no records."
            raise InputError(told, "Name the file itself.")
        if _plain(name):
            _add(found, seen, [name])
            continue
        passed: Counter[str] = Counter()
        roots = [name] if name.is_dir() else _fitting(name)
        files = dict.fromkeys(f for root in roots for f in _below(root, passed))
        wanted = [f for f in files if _wanted(f, documents, passed)]
        if not wanted:
            raise _nothing(name, roots, passed)
        _add(found, seen, wanted)
        if passed:
            found.issues.append(_told(name, passed))
        if len(found.paths) > MAX_FILES:
            raise InputError(f"More than {MAX_FILES:,} files are meant.", "Name fewer folders at once.")
    return found


def unread(source: Path, error: BridgeError) -> Issue:
    """What is told of a source that cannot be read, where there are others."""
    return issue("R154", error.message, Where(source.name), help=error.help)


def _plain(name: Path) -> bool:
    return name.is_file() or (not name.is_dir() and not glob.has_magic(str(name)))


def _add(found: Sources, seen: set[str], paths: Sequence[Path]) -> None:
    for path in paths:
        key = os.path.normcase(os.path.realpath(path))
        if key not in seen:
            seen.add(key)
            found.paths.append(path)


def _fitting(pattern: Path) -> list[Path]:
    """What a pattern fits, without what a practice holds beside records."""
    found = [Path(p) for p in sorted(glob.glob(str(pattern), recursive=True))]
    return [p for p in found if not any(_of_practice(one.parent, one.name) for one in (p, *p.parents))]


def _of_practice(folder: Path, name: str) -> bool:
    """Whether it is no record but the practice's own; its keys are known by what lies in them too."""
    if name not in OF_PRACTICE:
        return False
    keys = folder / _KEYS
    return (folder / _SETTINGS).is_file() or (name == _KEYS and any((keys / one).is_file() for one in _IN_KEYS))


def _below(root: Path, passed: Counter[str]) -> Iterator[Path]:
    """Files of a folder and of those in it, by name; hidden ones and links that lead out of it are left out, and
    de-identified copies of records unless their folder is the one that was named."""
    if not root.is_dir():
        if not is_lock(root.name):
            yield root
        return
    inside = os.path.realpath(root)
    for folder, folders, files in os.walk(root):
        here = Path(folder)
        if here != root and READ_ME in files and is_deidentified(here):
            passed["de-identified folders"] += 1
            folders.clear()
            continue
        folders[:] = sorted(f for f in folders if not f.startswith((".", PREFIX)) and not _of_practice(here, f))
        for file in sorted(files):
            path = here / file
            if file.startswith(".") or is_lock(file) or _of_practice(here, file):
                continue
            if path.is_symlink() and not Path(os.path.realpath(path)).is_relative_to(inside):
                passed["links"] += 1
            elif not path.is_file():
                passed["pipes and the like"] += 1
            else:
                yield path


def _wanted(path: Path, documents: bool, passed: Counter[str]) -> bool:
    """Whether a file found in a folder is one to read; others are counted by what they are."""
    suffix = path.suffix.lower()
    if path.name.lower().endswith(_BESIDE):
        passed["kept beside visits"] += 1
        return False
    if is_own(path):
        passed["made by visit-bridge"] += 1
        return False
    document = documents and (suffix in (".json", ".xml") or (suffix == ".pdf" and _carries_data(path)))
    ours = path.name.lower().endswith(_OURS) and not document
    if ours or not (document or may_hold_records(path.name)):
        passed["our own documents" if ours else suffix or "without an ending"] += 1
        return False
    if suffix in (".yaml", ".yml") and _is_layout(path):
        passed["layouts"] += 1
        return False
    if suffix in (".json", ".ndjson", ".jsonl") and not documents and _is_fhir(path):
        passed["FHIR documents"] += 1
        return False
    return True


def _is_layout(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            lines = stream.read(20_000).splitlines()
    except OSError:
        return False
    return any(line.startswith(_LAYOUT) for line in lines)


def _is_fhir(path: Path) -> bool:
    try:
        return what_is(path) in FHIR
    except InputError:
        return False


def _carries_data(path: Path) -> bool:
    from bridge.pdf_data import bundle_in_pdf

    try:
        return path.stat().st_size <= MAX_BYTES and bool(bundle_in_pdf(path.read_bytes()))
    except (InputError, OSError):
        return False


_OF_ONE = {
    "de-identified folders": "de-identified folder",
    "FHIR documents": "FHIR document",
    "layouts": "layout",
    "links": "link",
    "our own documents": "document of our own",
}


def _told(place: Path, passed: Counter[str]) -> Issue:
    number = sum(passed.values())
    named = {kind: _OF_ONE.get(kind, kind) if count == 1 else kind for kind, count in passed.items()}
    kinds = ", ".join(f"{passed[kind]} {name}" for kind, name in sorted(named.items()))
    told = f"{number} {'file was' if number == 1 else 'files were'} left alone: {kinds}."
    return issue("R151", told, Where(str(place)), cause=f"R151:{place}")


def _nothing(name: Path, roots: list[Path], passed: Counter[str]) -> NoSourceError:
    if not roots:
        return NoSourceError(f"No file fits the pattern {name}.", "Check the folder and the ending of the names.")
    number = sum(passed.values())
    others = f" ({number} other {'file' if number == 1 else 'files'})" if number else ""
    kind = "folder" if name.is_dir() else "pattern"
    return NoSourceError(f"There are no records in the {kind} {name}{others}.", "Name the file itself to have it read.")
