"""Mutated and hostile resources: a run of its own process, so that a crash of a library is noticed as well.

`VISIT_BRIDGE_MANY=10000 python -m pytest tests/oracles/test_mutations.py` runs the full count.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys

from tests.benchmarks.hostile import HOSTILE, REFUSED
from tests.standards import ROOT, standards_file

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "500"))
LIMIT = 10
"""Seconds for one: five times what one may take, for machines that are busy."""
MOST_MEMORY = 1_200
"""MB; measured 740, of which the instances themselves take a good part."""


def test_nothing_raises_or_hangs_and_memory_is_bounded() -> None:
    standards_file("fhir-r4-examples")
    command = [
        sys.executable,
        "-m",
        "tests.benchmarks.checker_mutations",
        "-n",
        str(MANY),
        "--hostile",
        "1",
        "--limit",
        str(LIMIT),
    ]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=3600)
    assert run.returncode == 0, (run.stdout + run.stderr)[-3000:]
    told = re.search(r"([\d,]+) mutants in .* peak of memory (\d+) MB", run.stdout)
    assert told
    assert int(told[1].replace(",", "")) == MANY
    assert int(told[2]) < MOST_MEMORY


def test_depth_and_size_are_among_what_must_be_refused() -> None:
    assert {
        "deep lists",
        "deep extensions",
        "a million objects",
        "a million given names",
        "a list in itself",
    } <= REFUSED
    assert set(HOSTILE) >= REFUSED
