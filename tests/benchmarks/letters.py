"""Letters of many records in one run: time for each, and whether memory stays flat.

python -m tests.benchmarks.letters -n 50 200 --as pdf
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.demo import LAYOUT, environment, make_demo, sheet_of


def run(sheet: Path, practice: Path, target: Path, forms: str) -> tuple[float, int]:
    """Seconds, and the letters written."""
    line = [sys.executable, "-m", "bridge", "letter", str(sheet), "--practice", str(practice), "--layout", str(LAYOUT)]
    start = time.perf_counter()
    subprocess.run([*line, "--as", forms, "--to", str(target), "--quiet"], check=False, env=environment())
    return time.perf_counter() - start, sum(1 for _ in target.iterdir())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("-n", type=int, nargs="+", default=[50, 200])
    parser.add_argument("--as", dest="forms", default="pdf")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        demo = make_demo(Path(folder))
        for count in args.n:
            sheet = sheet_of(count, demo, Path(folder) / f"{count}.csv")
            seconds, letters = run(sheet, demo, Path(folder) / str(count), args.forms)
            most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
            each = seconds / max(letters, 1) * 1000
            print(f"{count} visits: {letters} letters in {seconds:.1f} s = {each:.0f} ms each, at most {most} MB")


if __name__ == "__main__":
    main()
