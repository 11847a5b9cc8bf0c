"""Mutated and hostile resources by the thousand: nothing raises, nothing hangs, memory stays bounded.

    python -m tests.benchmarks.checker_mutations -n 10000 [--seed 1]

Instances: the published examples (see tests/standards.py) and the demo bundles, changed in their bytes (cut, doubled,
flipped, deep brackets, long numbers) and in their data (types swapped, cyclic data, keys that are no text, lists of a
million, half characters, NaN, text of megabytes). Each is read and checked as a received file or as data would be.
Told at the end: how many of each kind, the slowest of each, how many were told as wrong, exceptions, peak of memory.
The exit code is 1 where one raised, took longer than `--limit` seconds, or deep or huge data was not refused.
"""

from __future__ import annotations

import argparse
import faulthandler
import json
import resource
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from tests.benchmarks.hostile import HOSTILE, REFUSED
from tests.benchmarks.mutants import BYTES, DATA
from tests.standards import ROOT, standards_folder

HANG = 120
"""Seconds after which the traceback of a hang is shown and the run ends."""


class Outcome(NamedTuple):
    kind: str
    seconds: float
    told: int
    error: str


class Run:
    def __init__(self) -> None:
        self.count: Counter[str] = Counter()
        self.told: Counter[str] = Counter()
        self.slowest: dict[str, float] = defaultdict(float)
        self.errors: list[str] = []
        self.slow: list[str] = []
        self.accepted: list[str] = []

    def note(self, outcome: Outcome, limit: float) -> None:
        kind = outcome.kind
        self.count[kind] += 1
        self.told[kind] += bool(outcome.told)
        self.slowest[kind] = max(self.slowest[kind], outcome.seconds)
        if outcome.error:
            self.errors.append(f"{kind}: {outcome.error}")
        if outcome.seconds > limit:
            self.slow.append(f"{kind}: {outcome.seconds:.1f} s")
        if kind in REFUSED and not outcome.told and not outcome.error:
            self.accepted.append(kind)

    @property
    def faults(self) -> list[str]:
        return [*self.errors, *self.slow, *(f"not refused: {kind}" for kind in self.accepted)]


def instances() -> list[bytes]:
    paths = [
        *(standards_folder() / "fhir-r4-examples").rglob("*.json"),
        *(ROOT / "demo_bundles").rglob("*.bundle.json"),
    ]
    return [path.read_bytes() for path in sorted(paths)]


def check(data: Any) -> int:
    """How many issues a file (bytes) or data brings."""
    from bridge.check import check_bundle
    from bridge.fhir.ndjson import read_received

    found: list[Any] = []
    if isinstance(data, bytes):
        data, found = read_received(data)
        if data is None:
            return len(found)
    return len(found) + len(check_bundle(data))


def attempt(kind: str, make: Callable[[], Any]) -> Outcome:
    data = make()
    start = time.perf_counter()
    told, error = 0, ""
    try:
        told = check(data)
    except Exception as raised:
        error = f"{type(raised).__name__}: {str(raised)[:80]}"
    return Outcome(kind, time.perf_counter() - start, told, error)


def mutants(count: int, seed: int, hostile: int) -> Iterator[tuple[str, Callable[[], Any]]]:
    """Kind and maker of each; every hostile kind `hostile` times."""
    files = instances()
    choose = Random(seed)
    for kind, make in HOSTILE.items():
        for _ in range(hostile):
            yield kind, (lambda make=make: make(choose, json.loads(choose.choice(files))))  # type: ignore[misc]
    for number in range(count - hostile * len(HOSTILE)):
        content = choose.choice(files)
        if number % 2:
            kind, alter = choose.choice(list(BYTES.items()))
            yield f"bytes: {kind}", (lambda alter=alter, content=content: alter(choose, content))  # type: ignore[misc]
        else:
            kind, change = choose.choice(list(DATA.items()))
            yield f"data: {kind}", (lambda change=change, content=content: change(choose, json.loads(content)))  # type: ignore[misc]


def run(count: int, seed: int = 1, hostile: int = 2, limit: float = 2.0) -> Run:
    faulthandler.enable()
    result = Run()
    for kind, make in mutants(count, seed, hostile):
        faulthandler.dump_traceback_later(HANG, exit=True)
        result.note(attempt(kind, make), limit)
    faulthandler.cancel_dump_traceback_later()
    return result


def peak() -> float:
    """Most memory of this process in MB; getrusage would count what the process that started it had."""
    status = Path("/proc/self/status")
    if status.exists():
        return next(int(line.split()[1]) / 1024 for line in status.read_text().splitlines() if line.startswith("VmHWM"))
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("-n", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--hostile", type=int, default=2, help="how often each hostile kind is made")
    parser.add_argument("--limit", type=float, default=2.0, help="seconds that one may take")
    options = parser.parse_args()
    before = peak()
    start = time.perf_counter()
    result = run(options.n, options.seed, options.hostile, options.limit)
    most = peak()
    for kind in sorted(result.count):
        print(f"{kind}: {result.count[kind]}, told {result.told[kind]}, slowest {result.slowest[kind] * 1000:,.0f} ms")
    took = time.perf_counter() - start
    print(
        f"{sum(result.count.values()):,} mutants in {took:.0f} s, peak of memory {most:.0f} MB ({before:.0f} MB before)"
    )
    for fault in result.faults[:20]:
        print(fault)
    sys.exit(1 if result.faults else 0)


if __name__ == "__main__":
    main()
