"""How fast resources are checked, as ratios over fhir.resources (which checks far less), in one run and on one core.

    python -m tests.benchmarks.checker --rounds 9 [FILE...]

1. From parsed data: its `model_validate` over our `check_conformance`.
2. From bytes: its `model_validate_json` over our `check_resource`, which keeps decimals as written.
3. `visit-bridge check` of one bundle over importing its model classes (CPU and wall time of whole processes).

FILE: bundles or resources in JSON; without one, the documents of demo_bundles/. The contenders take turns within each
round. Also told: the careful walk alone, which is what a doubtful resource costs.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

from bridge.check.conformance import careful, check_conformance
from bridge.check.resource import check_resource
from tests.benchmarks.startup import MODELS, compare, cpu, wall

ROOT = Path(__file__).parents[2]
AIMS = {"from parsed data": (12, 20), "from bytes": (6, 10)}
Work = Callable[[], Any]


def seconds(work: Work) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def turns(rounds: int, *works: Work) -> list[float]:
    """Median seconds of each piece of work; in each round each has its turn."""
    for work in works:
        work()
    measured = [[seconds(work) for work in works] for _ in range(rounds)]
    return [median(column) for column in zip(*measured, strict=True)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE")
    parser.add_argument("--rounds", type=int, default=9)
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    from fhir.resources.R4B import get_fhir_model_class

    files = options.files or sorted((ROOT / "demo_bundles").glob("*.bundle.json"))
    contents = [path.read_bytes() for path in files]
    parsed = [json.loads(content) for content in contents]
    models = [get_fhir_model_class(data["resourceType"]) for data in parsed]
    for _ in range(60):  # until every schema is worth compiling
        for data in parsed:
            check_conformance(data)
    pairs = list(zip(models, parsed, contents, strict=True))
    theirs, ours, walked, their_bytes, our_bytes = turns(
        options.rounds,
        lambda: [model.model_validate(data) for model, data, _ in pairs],
        lambda: [check_conformance(data) for data in parsed],
        lambda: [careful(data) for data in parsed],
        lambda: [model.model_validate_json(content) for model, _, content in pairs],
        lambda: [check_resource(content) for content in contents],
    )
    size = sum(map(len, contents))
    print(f"{len(files)} files, {size / 1000:,.0f} kB, median of {options.rounds} rounds")
    for what, (their, our) in zip(AIMS, ((theirs, ours), (their_bytes, our_bytes)), strict=True):
        least, aim = AIMS[what]
        each = our / len(files) * 1000
        print(f"{what}: {their / our:.1f} times as fast (at least {least}, aim {aim}); {each:.2f} ms for each file")
    print(f"the careful walk alone: {theirs / walked:.1f} times as fast")
    line = [sys.executable, "-m", "bridge", "check", str(files[0])]
    for name, measure in (("CPU", cpu), ("wall", wall)):
        compare(f"check of one bundle over importing the models, {name}", line, MODELS, options.rounds, measure)


if __name__ == "__main__":
    main()
