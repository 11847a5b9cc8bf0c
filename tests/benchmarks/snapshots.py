"""What it costs to make snapshots, beside what it costs to parse the same definitions as JSON.

    python -m tests.benchmarks.snapshots

Prints CPU per definition for IPS, UK Core and R4: parsing (Python's json), `facts` and `snapshot`.
"""

from __future__ import annotations

import json
from time import process_time

from bridge.profiles.facts import facts
from bridge.profiles.snapshot import snapshot
from tests.profiles.snapshot.published import definitions, said_only, shelf

ROUNDS = 5
R4 = (
    "fhir-r4/profiles-types",
    "fhir-r4/profiles-resources",
    "fhir-r4/profiles-others",
    "fhir-r4/extension-definitions",
)


def cost(name: str) -> str:
    """The line of one file: the best of some rounds."""
    published = definitions(name)
    structures = {**shelf(*R4), **shelf(name)}
    texts = [json.dumps(definition) for definition in published]
    best = [float("inf")] * 3
    for _ in range(ROUNDS):
        start = process_time()
        for text in texts:
            json.loads(text)
        parsed = process_time()
        said = [facts(said_only(definition)) for definition in published]
        taken = process_time()
        elements = sum(len(snapshot(one, lambda url: structures.get(url.partition("|")[0]))[0]) for one in said)
        made = process_time()
        best = [min(pair) for pair in zip(best, (parsed - start, taken - parsed, made - taken), strict=True)]
    parse, take, make = (1e3 * seconds / len(texts) for seconds in best)
    return (
        f"{name:32} {len(texts):4} definitions, {elements:5} elements: parse {parse:6.3f} ms, facts {take:6.3f} ms, "
        f"snapshot {make:6.3f} ms each; snapshot / parse {make / parse:.2f}"
    )


def main() -> None:
    for name in ("ips", "uk-core/uk-core-snapshots", *R4):
        print(cost(name))


if __name__ == "__main__":
    main()
