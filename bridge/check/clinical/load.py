"""Loads the rules: groups, questions and rules of `mappings/clinical/`, and what a practice adds or changes."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from bridge.check.clinical.files import Library, RuleFile, read_all
from bridge.check.clinical.overlay import own_rules
from bridge.check.clinical.rulebook import RuleBook
from bridge.clinical_pages import sources
from bridge.data import table_path
from bridge.phrases.vocabulary import shipped_rows
from bridge.rule_file import read_shipped

KINDS = ("groups", "questions", "rules")
SHIPPED = range(200, 600)
"""Numbers of the codes that shipped rules have."""


def load_rules(region: str = "", folder: Path | None = None) -> RuleBook:
    """The rules that hold in a region (all where none is named), in the order of their codes, with what the practice
    `folder` adds and changes. Raises MappingError, with every fault of the files that have some."""
    shipped = library()
    if folder is None:
        return RuleBook(shipped.rules).of_region(region)
    return own_rules(folder, shipped).of_region(region)


@cache
def library(root: Path | None = None) -> Library:
    """The shipped groups, questions and rules, or those of another folder. Raises MappingError with their faults."""
    root = root or table_path("clinical")
    with _all_kept():
        paths = [(kind, path) for kind in KINDS for path in sorted((root / kind).glob("*.yaml"))]
        files = [RuleFile(path, read_shipped(path), (kind,)) for kind, path in paths]
        return read_all(files, Library(dict(_concepts()), {}, (), sources()), SHIPPED)


@contextmanager
def _all_kept() -> Iterator[None]:
    """Nothing made here is thrown away again, so looking for what could be is a fifth of the time, for nothing."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _concepts() -> Iterator[tuple[str, frozenset[str]]]:
    """Every meaning of the term maps, each standing for itself."""
    for _, row in shipped_rows():
        yield row["concept"], frozenset({row["concept"]})
