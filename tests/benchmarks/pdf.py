"""What a letter as PDF costs: bundle to bytes with drawings and data, warm, over a batch, and cold.

    python -m tests.benchmarks.pdf -n 200

Wall time and CPU time in milliseconds per letter, every one with words of its own, beside a page that typst sets alone
(heading, table of nine rows, three paragraphs, list); then the memory; then the first letter of a fresh process, beside
importing the FHIR model classes.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any

from bridge.in_turn import InTurn
from bridge.render.as_pdf import render
from bridge.render.letter import page_of
from tests.benchmarks.demo import environment

DEMO = Path(__file__).parents[2] / "demo_bundles"
PLAIN = b"""#set document(title: "x")
#set text(lang: "en")
#let words(n) = range(n).map(i => sys.inputs.number + str(i * 7919)).join(" ")
= Letter
#table(columns: 2, table.header([A], [B]), ..range(18).map(i => words(5 + calc.rem(i, 3))))
#for n in (40, 41, 42) { par(words(n)) }
#list(..range(5).map(i => words(6 + i)))"""
COLD = """
import sys, time
start = time.perf_counter()
import typst
imported = time.perf_counter()
from bridge.render.as_pdf import page_as_pdf
from bridge.render.page import Page, Section, Text
page = Page("summary", "en", "Letter", "1", [], [], "Client", [], [Section("a", "A", [Text("words")])], [], "1")
ready = time.perf_counter()
page_as_pdf(page, b"{}")
done = time.perf_counter()
print((imported - start) * 1000, (done - ready) * 1000)
"""
MODELS = """
import time
start = time.perf_counter()
import fhir.resources.R4B.bundle
print((time.perf_counter() - start) * 1000)
"""


def changed(bundle: dict[str, Any], number: int) -> dict[str, Any]:
    """The same letter of another person: a name, a birth date and an address of its own."""
    text = json.dumps(bundle)
    made: dict[str, Any] = json.loads(text.replace("M26-", f"N{number:05}-"))
    for entry in made["entry"]:
        if entry["resource"]["resourceType"] == "Patient":
            entry["resource"]["name"] = [{"family": f"Family{number:05}", "given": [f"Given{number * 7:05}"]}]
    return made


def timed(what: str, calls: list[Callable[[], object]]) -> None:
    walls, cpus = [], []
    for call in calls:
        wall, cpu = time.perf_counter(), time.process_time()
        call()
        walls.append((time.perf_counter() - wall) * 1000)
        cpus.append((time.process_time() - cpu) * 1000)
    walls.sort(), cpus.sort()
    print(f"{what}: wall {median(walls):.1f} (fastest tenth {walls[len(walls) // 10]:.1f}), CPU {median(cpus):.1f}")


def together(batch: list[tuple[dict[str, Any], bytes]]) -> None:
    """The whole batch as `letter` makes it: several at once, in order."""
    hands: InTurn[object] = InTurn()
    start = time.perf_counter()
    made = [one for b, e in batch for one in hands.give(partial(render, b, e))]
    made += hands.rest()
    print(f"as the command makes a batch: wall {(time.perf_counter() - start) * 1000 / len(made):.1f} a letter")


def memory() -> float:
    """Megabytes that the process holds now."""
    import resource

    with open("/proc/self/statm", encoding="ascii") as stream:
        return int(stream.read().split()[1]) * resource.getpagesize() / 1e6


def cold(code: str, runs: int) -> list[float]:
    rows = []
    for _ in range(runs):
        line = [sys.executable, "-c", code]
        done = subprocess.run(line, check=True, capture_output=True, text=True, env=environment())
        rows.append([float(word) for word in done.stdout.split()])
    return [median(column) for column in zip(*rows, strict=True)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("-n", type=int, default=200)
    count = parser.parse_args().n
    files = sorted(DEMO.glob("*.bundle.json"))
    bundles = [changed(json.loads(files[n % len(files)].read_bytes()), n) for n in range(count)]
    exported = [json.dumps(bundle).encode() for bundle in bundles]
    render(bundles[0], exported[0])
    import typst

    plain = typst.Compiler(ignore_system_fonts=True)
    before = memory()
    half = count // 2
    batch = list(zip(bundles, exported, strict=True))
    timed("bundle to PDF, first half", [lambda b=b, e=e: render(b, e) for b, e in batch[:half]])
    middle = memory()
    timed("bundle to PDF, second half", [lambda b=b, e=e: render(b, e) for b, e in batch[half:]])
    after = memory()
    together([(changed(b, n + count), e) for n, (b, e) in enumerate(batch)])
    timed("of which the page", [lambda b=b: page_of(b) for b in bundles])
    timed("typst alone, a plain page", [
        lambda n=n: plain.compile(PLAIN, format="pdf", sys_inputs={"number": str(n)}, pdf_standards=["a-3a", "ua-1"])
        for n in range(count)
    ])  # fmt: skip
    print(f"memory: {before:.0f} MB, {middle:.0f} MB after half, {after:.0f} MB after all")
    imported, first = cold(COLD, 7)
    (models,) = cold(MODELS, 7)
    print(f"cold: import typst {imported:.0f}, first page {first:.0f}; FHIR model classes {models:.0f} ms")


if __name__ == "__main__":
    main()
