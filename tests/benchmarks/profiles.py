"""What profiles cost on top of the standard, as ratios in one run on one core.

    python -m tests.benchmarks.profiles --rounds 15

1. Client summaries made of the demo records, held against the International Patient Summary, over the standard alone
   (at most 5 times, warm).
2. The documents of demo_bundles/, which claim UK Core, over the standard alone.
3. The published IPS example bundles, where VISIT_BRIDGE_STANDARDS has them.

All warm. The contenders take turns within each round.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from typing import Any

from bridge.check.conformance import check_conformance, check_with_profiles
from bridge.check.gate import WORTH
from bridge.check.profiles.asked import asked_for
from tests.benchmarks.checker import ROOT, seconds
from tests.standards import standards_folder

IPS = "http://hl7.org/fhir/uv/ips/StructureDefinition/Bundle-uv-ips"
LIMIT = 5


def told(what: str, paths: Sequence[Path], profiles: Sequence[str], rounds: int) -> None:
    """Prints how many times the standard alone the check with profiles takes, for each file and together."""
    documents = [json.loads(path.read_bytes()) for path in paths]
    if not documents:
        print(f"{what}: no files here")
        return
    asked = asked_for(profiles) if profiles else None
    for _ in range(1 + WORTH // len(documents)):  # until schemas are worth compiling
        for data in documents:
            check_conformance(data)
    each = [measured(data, asked, rounds) for data in documents]
    times = [ratio for ratio, _ in each]
    base = median(took for _, took in each) * 1000
    print(
        f"{what}: {median(times):.1f} times the standard alone"
        f" ({min(times):.1f} to {max(times):.1f}; {len(each)} files, {base:.2f} ms for the standard)"
    )


def measured(data: Any, asked: Any, rounds: int) -> tuple[float, float]:
    """How many times as long it takes with profiles, and the seconds without: medians over rounds."""
    check_with_profiles(data, asked)
    pairs = [
        (seconds(lambda: check_with_profiles(data, asked)), seconds(lambda: check_conformance(data)))
        for _ in range(rounds)
    ]
    return median(full / base for full, base in pairs), median(base for _, base in pairs)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    demo = ROOT / "demo_bundles"
    told(f"client summaries against IPS (at most {LIMIT})", sorted(demo.rglob("*.ips.bundle.json")), [IPS], rounds)
    told("visit documents that claim UK Core", sorted(demo.glob("M26-*.bundle.json")), [], rounds)
    published = sorted(standards_folder().glob("fhir-r4-examples/ips/Bundle-*.json"))
    told(f"published IPS bundles (at most {LIMIT})", published, [IPS], rounds)


if __name__ == "__main__":
    main()
