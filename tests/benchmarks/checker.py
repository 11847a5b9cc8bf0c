"""How fast resources are checked, as ratios over fhir.resources (which checks far less), in one run and on one core.

    python -m tests.benchmarks.checker --rounds 9 [FILE...]

1. From parsed data: its `model_validate` over our `check_conformance`.
2. From bytes: its `model_validate_json` over our `check_resource`, which keeps decimals as written.
3. `visit-bridge check` of one bundle over importing its model classes (CPU and wall time of whole processes).

FILE: bundles or resources in JSON; without one, the documents of demo_bundles/. What they claim of profiles is taken
out, for the models do not look at it (tests.benchmarks.profiles tells what it costs). The contenders take turns within
each round. Also told: the careful walk alone, which is what a doubtful resource costs.
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
from bridge.check.gate import WORTH
from bridge.check.resource import check_resource
from tests.benchmarks.startup import MODELS, compare, cpu, wall

ROOT = Path(__file__).parents[2]
AIMS = {"from parsed data": (12, 20), "from bytes": (6, 10)}
Work = Callable[[], Any]


def seconds(work: Work) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def turns(rounds: int, theirs: Work, ours: Work) -> tuple[float, float]:
    """How many times as fast ours is, and its seconds: medians over rounds in which both have their turn."""
    theirs(), ours()
    measured = [(seconds(theirs), seconds(ours)) for _ in range(rounds)]
    return median(their / our for their, our in measured), median(our for _, our in measured)


def without_claims(data: Any) -> Any:
    """The same without any `meta.profile`."""
    if isinstance(data, list):
        return [without_claims(one) for one in data]
    if not isinstance(data, dict):
        return data
    kept = {key: without_claims(inner) for key, inner in data.items()}
    if "resourceType" in kept and isinstance(kept.get("meta"), dict):
        kept["meta"].pop("profile", None)
        if not kept["meta"]:
            del kept["meta"]
    return kept


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE")
    parser.add_argument("--rounds", type=int, default=9)
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    from fhir.resources.R4B import get_fhir_model_class

    files = options.files or sorted((ROOT / "demo_bundles").glob("*.bundle.json"))
    parsed = [without_claims(json.loads(path.read_bytes())) for path in files]
    contents = [json.dumps(data, ensure_ascii=False, indent=2).encode() for data in parsed]
    models = [get_fhir_model_class(data["resourceType"]) for data in parsed]
    for _ in range(1 + WORTH // len(parsed)):  # until schemas are worth compiling
        for data in parsed:
            check_conformance(data)
    pairs = list(zip(models, parsed, contents, strict=True))

    def validate() -> list[Any]:
        return [model.model_validate(data) for model, data, _ in pairs]

    def validate_bytes() -> list[Any]:
        return [model.model_validate_json(content) for model, _, content in pairs]

    works: dict[str, tuple[Work, Work]] = {
        "from parsed data": (validate, lambda: [check_conformance(data) for data in parsed]),
        "from bytes": (validate_bytes, lambda: [check_resource(content) for content in contents]),
    }
    print(f"{len(files)} files, {sum(map(len, contents)) / 1000:,.0f} kB, medians of {options.rounds} rounds")
    for what, (theirs, ours) in works.items():
        least, aim = AIMS[what]
        times, took = turns(options.rounds, theirs, ours)
        each = took / len(files) * 1000
        print(f"{what}: {times:.1f} times as fast (at least {least}, aim {aim}); {each:.2f} ms for each file")
    times, took = turns(options.rounds, validate, lambda: [careful(data) for data in parsed])
    print(f"the careful walk alone: {times:.1f} times as fast; {took / len(files) * 1000:.2f} ms for each file")
    line = [sys.executable, "-m", "bridge", "check", str(files[0])]
    for name, measure in (("CPU", cpu), ("wall", wall)):
        compare(f"check of one bundle over importing the models, {name}", line, MODELS, options.rounds, measure)


if __name__ == "__main__":
    main()
