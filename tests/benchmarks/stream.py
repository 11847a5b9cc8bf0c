"""How fast `visit-bridge convert` goes through a long sheet, and whether its memory stays flat.

    python -m tests.benchmarks.stream -n 1000 10000

Prints rows per second and peak memory for each size, then the ratios of the largest size to the smallest:
about 1 for both means that a visit costs the same however long the sheet is. Linux and macOS only (wait4).
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.demo import convert_line, environment, make_demo, sheet_of

MEMORY_UNIT = 1 if sys.platform == "darwin" else 1024
"""Bytes in the unit of ru_maxrss: macOS counts bytes, Linux kilobytes."""


def run(line: list[str], report: Path) -> tuple[float, float, dict[str, int]]:
    """Wall seconds, peak MB and the figures of one run."""
    start = time.perf_counter()
    with report.open("wb") as stream:
        running = subprocess.Popen(line, stdout=stream, env=environment())
        _, status, usage = os.wait4(running.pid, 0)
    seconds = time.perf_counter() - start
    running.returncode = os.waitstatus_to_exitcode(status)
    if running.returncode not in {0, 1}:
        raise SystemExit(f"convert ended with {running.returncode}")
    return seconds, usage.ru_maxrss * MEMORY_UNIT / 1e6, json.loads(report.read_bytes())["figures"]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("-n", type=int, nargs="+", default=[1_000, 10_000], help="numbers of visits")
    sizes = sorted(parser.parse_args().n)
    figures = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        demo = make_demo(folder)
        for size in sizes:
            sheet = sheet_of(size, demo, folder / f"{size}.csv")
            line = convert_line(sheet, demo, folder / f"out-{size}")
            seconds, peak, counts = run(line, folder / f"report-{size}.json")
            if counts.get("visits") != size:
                raise SystemExit(f"convert met {counts.get('visits', 0)} visits instead of {size}")
            figures.append((size / seconds, peak))
            ready = f"{counts.get('ready', 0)} ready"
            print(f"{size:>8} visits ({ready}): {size / seconds:6.0f} rows/s, peak {peak:6.0f} MB, {seconds:.1f} s")
    (slow, small), (fast, large) = figures[0], figures[-1]
    print(f"{sizes[-1]} over {sizes[0]} visits: speed {fast / slow:.2f}, peak memory {large / small:.2f}")


if __name__ == "__main__":
    main()
