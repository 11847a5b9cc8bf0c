"""What the consistency audit takes: CPU and memory over growing numbers of seeded records.

    python -m tests.benchmarks.audit 20000              # sheets and bundles, half of each
    python -m tests.benchmarks.audit --kind visits 50000 100000 200000

Each number runs in a process of its own, so that the memory told is its own. `unit` is what ten million additions take
on the same machine just after, to compare machines that are busy with others.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from resource import RUSAGE_SELF, getrusage

from bridge.audited import audit
from tests.audit.seeder import bundles, sheets
from tests.audit.test_patterns import EACH, converter

KINDS = ("both", "visits", "bundles")


def measured(count: int, kind: str) -> str:
    """One line: records, CPU, memory before and at most."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sources = []
        if kind != "bundles":
            sources.append(folder / "visits-seeded.csv")
            sheets.write_sheet(sources[-1], count if kind == "visits" else count // 2, 7, EACH)
        if kind != "visits":
            sources.append(folder / "seeded.ndjson")
            bundles.write_bundles(sources[-1], count if kind == "bundles" else count - count // 2, 8, EACH)
        made = converter(folder)
        before, started = getrusage(RUSAGE_SELF).ru_maxrss // 1024, time.process_time()
        audited = audit(sources, made)
        took = time.process_time() - started
        most = getrusage(RUSAGE_SELF).ru_maxrss // 1024
    memory = f"{before} MB before, {most} MB at most"
    return f"{audited.records:7} {kind}: {took:6.1f} s of CPU, {memory}, unit {_unit():.2f} s"


def _unit() -> float:
    started, total = time.process_time(), 0
    for number in range(10_000_000):
        total += number
    return time.process_time() - started


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("counts", type=int, nargs="*", default=[20_000])
    parser.add_argument("--kind", choices=KINDS, default="both")
    told = parser.parse_args()
    if len(told.counts) == 1:
        print(measured(told.counts[0], told.kind), flush=True)
        return
    for count in told.counts:
        subprocess.run([sys.executable, "-m", "tests.benchmarks.audit", "--kind", told.kind, str(count)], check=True)


if __name__ == "__main__":
    main()
