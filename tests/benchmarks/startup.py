"""How much the tool costs before it does anything, as ratios, so that figures of two machines compare.

    python -m tests.benchmarks.startup --runs 15

1. `visit-bridge --help` over a minimal click program with as many commands (wall time, median, interleaved).
2. `visit-bridge convert` of one visit over importing the FHIR model classes (CPU time of the whole process).
3. `visit-bridge letter BUNDLE --as pdf` and `--as html` over the same (wall and CPU time); the PDF may take 2.5.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from bridge.cli import COMMANDS
from tests.benchmarks.demo import convert_line, environment, make_demo, sheet_of

MINIMAL = "\n".join(
    [
        "import click",
        "@click.group()",
        "def main(): pass",
        *(f"@main.command('{name}')\ndef _{name}(): '''{line}'''" for name, line in COMMANDS.items()),
        "main()",
    ]
)
MODELS = [sys.executable, "-c", "import fhir.resources.R4B.bundle"]


def wall(line: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(line, check=True, stdout=subprocess.DEVNULL, env=environment())
    return time.perf_counter() - start


def cpu(line: list[str]) -> float:
    """User and system seconds of the whole process; only where the system counts them for children."""
    import resource

    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(line, check=False, stdout=subprocess.DEVNULL, env=environment())
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def compare(what: str, ours: list[str], theirs: list[str], runs: int, measure: Callable[[list[str]], float]) -> None:
    """Prints both medians and their ratio; the two take turns, so that a busy machine slows both."""
    measure(ours), measure(theirs)
    pairs = [(measure(ours), measure(theirs)) for _ in range(runs)]
    one, other = (median(column) for column in zip(*pairs, strict=True))
    print(f"{what}: {one * 1000:.0f} ms over {other * 1000:.0f} ms = {one / other:.2f} ({runs} runs)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=15)
    runs = parser.parse_args().runs
    ours = [sys.executable, "-m", "bridge"]
    with tempfile.TemporaryDirectory() as folder:
        minimal = Path(folder) / "minimal.py"
        minimal.write_text(MINIMAL, encoding="utf-8")
        compare("--help over minimal click", [*ours, "--help"], [sys.executable, str(minimal), "--help"], runs, wall)
        demo = make_demo(Path(folder))
        sheet = sheet_of(1, demo, Path(folder) / "one.csv")
        line = convert_line(sheet, demo, Path(folder) / "out")
        compare("convert one visit over model import", line, MODELS, runs, cpu)
        bundle = str(next((Path(folder) / "out").glob("*.bundle.json")))
        for form in ("pdf", "html"):
            line = [*ours, "letter", bundle, "--as", form, "--to", str(Path(folder) / "letters")]
            compare(f"letter as {form} over model import, wall", line, MODELS, runs, wall)
            compare(f"letter as {form} over model import, CPU", line, MODELS, runs, cpu)


if __name__ == "__main__":
    main()
