"""Seeded inconsistencies are found, and clean records are left in peace.

The seeder (`tests/audit/seeder/`) shares nothing with the audit. In CI a small count; all of it, with what it took:

    python -m tests.audit.test_patterns 20000
"""

from __future__ import annotations

import ast
import json
import random
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge.audit.shapes import Audited
from bridge.audited import audit
from bridge.data import table_path
from bridge.pipeline import Converter
from bridge.practice import load_practice
from tests.audit.seeder import bundles, sheets
from tests.clinical.clean_visits import clean_visit

SEEDED = sorted({pattern for pattern, _ in (*sheets.FAULTS, *bundles.FAULTS)})
NOT_SEEDED: dict[str, str] = {}
EACH = 60
"""One record in so many has a fault of each pattern."""
FOUND, FALSE = 0.99, 0.01
ALL = 10**6
SEEDER = Path(__file__).parent / "seeder"


def converter(folder: Path) -> Converter:
    for name in ("practice.yaml", "doctors.csv"):
        (folder / name).write_bytes(table_path("demo", name).read_bytes())
    practice, issues = load_practice(folder)
    assert practice is not None
    return Converter(practice, folder, issues)


def seed(folder: Path, count: int, each: int) -> tuple[list[Path], sheets.Seeded]:
    """Half the records in a sheet, half as bundles."""
    sheet, sent = folder / "visits-seeded.csv", folder / "seeded.ndjson"
    one = sheets.write_sheet(sheet, count // 2, seed=7, each=each)
    other = bundles.write_bundles(sent, count - count // 2, seed=8, each=each)
    for where, more in ((one.where, other.where), (one.allowed, other.allowed)):
        for pattern, numbers in more.items():
            where.setdefault(pattern, set()).update(numbers)
    return [sheet, sent], one


def judged(audited: Audited, seeded: sheets.Seeded) -> Iterator[tuple[str, int, int, int, int]]:
    """Pattern, how many were seeded and found, how many records were told in error, of how many."""
    for pattern in audited.patterns:
        told = {one.where.record for one in pattern.evidence}
        wanted = seeded.where.get(pattern.pattern, set())
        false = told - wanted - seeded.allowed.get(pattern.pattern, set())
        yield pattern.pattern, len(wanted), len(told & wanted), len(false), audited.records - len(wanted)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Audited, sheets.Seeded]:
    folder = tmp_path_factory.mktemp("seeded")
    sources, seeded = seed(folder, 1600, EACH)
    return audit(sources, converter(folder), evidence=ALL), seeded


@pytest.mark.parametrize("pattern", SEEDED)
def test_what_was_seeded_is_found_and_nothing_else(pattern: str, small: tuple[Audited, sheets.Seeded]) -> None:
    _, wanted, found, false, others = next(one for one in judged(*small) if one[0] == pattern)
    assert wanted >= 5
    assert found >= FOUND * wanted
    assert false <= FALSE * others


def test_counts_are_those_of_the_evidence(small: tuple[Audited, sheets.Seeded]) -> None:
    audited, _ = small
    for pattern in audited.patterns:
        assert pattern.records.count == len({one.where.record for one in pattern.evidence}), pattern.pattern
        assert not (pattern.not_shown and pattern.evidence)


def test_patterns_that_are_not_seeded_are_named() -> None:
    every = {f"I{n:02d}" for n in range(1, 34)}
    assert every - set(SEEDED) == set(NOT_SEEDED)


def test_clean_records_show_nothing(tmp_path: Path) -> None:
    sources, seeded = seed(tmp_path, 400, 10**6)
    for numbers in seeded.where.values():
        assert len(numbers) <= 2  # the first record of each file has the first fault
    for pattern, _, _, false, others in judged(audit(sources, converter(tmp_path), evidence=ALL), seeded):
        assert false <= FALSE * others, pattern


def test_visits_of_practitioners_without_a_fault_show_nothing(tmp_path: Path) -> None:
    """Another generator than the seeder's. Its reasons for a method are forms of words, which I33 tells."""
    rng = random.Random(11)
    for number in range(120):
        visit = clean_visit(rng) | {"number": f"K{number:03d}"}
        (tmp_path / f"K{number:03d}.json").write_text(json.dumps(visit), encoding="utf-8")
    audited = audit([tmp_path], converter(tmp_path), evidence=ALL)
    assert audited.records == 120
    assert {p.pattern for p in audited.patterns if p.records.count > FALSE * 120} <= {"I33"}


def test_the_seeder_shares_nothing_with_the_audit() -> None:
    for path in SEEDER.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = [a.name for node in ast.walk(tree) if isinstance(node, ast.Import) for a in node.names]
        names += [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
        assert not any(name.split(".")[0] == "bridge" for name in names), path
        texts = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
        assert not any("mappings/" in text for text in texts), path


def main(count: int) -> None:
    from resource import RUSAGE_SELF, getrusage

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sources, seeded = seed(folder, count, EACH)
        made, started = converter(folder), time.process_time()
        audited = audit(sources, made, evidence=ALL)
        took = time.process_time() - started
        print(f"{audited.records} records, {took:.1f} s of CPU, {getrusage(RUSAGE_SELF).ru_maxrss // 1024} MB at most")
        print("pattern  seeded   found   false alarms")
        for pattern, wanted, found, false, others in judged(audited, seeded):
            if wanted or false:
                shares = f"{100 * found / max(wanted, 1):6.2f} %   {100 * false / others:.2f} %"
                print(f"{pattern:7} {wanted:7} {found:7} {false:7}   {shares}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
