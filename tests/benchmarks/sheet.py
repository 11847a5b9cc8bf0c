"""How fast a workbook is read, beside two readers of others, and whether memory stays flat.

    python -m tests.benchmarks.sheet -n 5000 50000

Each reader goes through the same workbook in a process of its own, in turns; seconds are those of the processor, so
that a busy machine does not count. Prints rows per second and peak memory for each size, then the ratios. Linux and
macOS only (wait4).
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.demo import environment
from tests.benchmarks.stream import MEMORY_UNIT

COLUMNS = 55
WORDS = ("heavy", "NAD", "soft; sticky", "microsuction", "18G", "complete", "brown", None, None, None, None, 80, 2)
READERS = {
    "ours": "from bridge.read.table import open_tables; from pathlib import Path\n"
    "n = sum(1 for row in open_tables(Path(path))[0].rows())",
    "calamine": "from python_calamine import CalamineWorkbook\n"
    "n = sum(1 for row in CalamineWorkbook.from_path(path).get_sheet_by_index(0).iter_rows())",
    "openpyxl": "from openpyxl import load_workbook\n"
    "n = sum(1 for row in load_workbook(path, read_only=True).active.iter_rows(values_only=True))",
}
NOTHING = {
    "ours": "import bridge.read, lxml.etree",
    "calamine": "import python_calamine",
    "openpyxl": "import openpyxl",
}


def make(count: int, path: str, *, shared: bool) -> None:
    """A workbook of so many rows: numbers, dates, texts of their own, and words that come up again and again."""
    from openpyxl import Workbook

    book = Workbook(write_only=not shared)
    sheet = book.active if shared else book.create_sheet("Visits")
    sheet.append([f"Heading {n}" for n in range(COLUMNS)])
    for row in range(count):
        own = [f"B{row:06}", dt.date(2026, 1, 1) + dt.timedelta(row % 300), f"Name{row}", f"a note on visit {row}"]
        sheet.append([*own, *(WORDS[(row * 7 + column * 5) % len(WORDS)] for column in range(COLUMNS - len(own)))])
    book.save(path)


def run(code: str, path: Path) -> tuple[float, float]:
    """Seconds of the processor and peak MB of a process that runs the code."""
    running = subprocess.Popen([sys.executable, "-c", f"path = {str(path)!r}\n{code}"], env=environment())
    _, status, usage = os.wait4(running.pid, 0)
    running.returncode = os.waitstatus_to_exitcode(status)
    if running.returncode:
        raise SystemExit(f"A reader ended with {running.returncode}.")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss * MEMORY_UNIT / 1e6


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("-n", type=int, nargs="+", default=[5_000, 50_000], help="numbers of rows")
    parser.add_argument("--runs", type=int, default=3, help="runs of each reader; the best counts")
    parser.add_argument("--shared", action="store_true", help="texts shared, as spreadsheet programs write them")
    options = parser.parse_args()
    peaks = []
    with tempfile.TemporaryDirectory() as folder:
        for count in sorted(options.n):
            path = Path(folder, f"{count}.xlsx")
            run(f"from tests.benchmarks.sheet import make; make({count}, path, shared={options.shared})", path)
            found: dict[str, list[tuple[float, float]]] = {name: [] for name in READERS}
            start = {name: min(run(code, path)[0] for _ in range(options.runs)) for name, code in NOTHING.items()}
            for _ in range(options.runs):
                for name, code in READERS.items():
                    found[name].append(run(code, path))
            speed = {name: count / (min(s for s, _ in runs) - start[name]) for name, runs in found.items()}
            for name, runs in found.items():
                print(f"{count:>8} rows, {name:<8}: {speed[name]:8.0f} rows/s, peak {max(p for _, p in runs):5.0f} MB")
            told = ", ".join(f"{speed['ours'] / speed[name]:.2f} of {name}" for name in READERS if name != "ours")
            print(f"{count:>8} rows: our speed is {told}")
            peaks.append(max(p for _, p in found["ours"]))
    print(f"{max(options.n)} over {min(options.n)} rows: our peak memory {peaks[-1] / peaks[0]:.2f}")


if __name__ == "__main__":
    main()
