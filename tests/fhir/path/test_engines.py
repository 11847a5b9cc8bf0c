"""Every published constraint by the quick engine, fhirpathpy and NLM's fhirpath.js, on examples and their mutants.

Constraints: R4 4.0.1 (resources, types, other profiles, extensions), IPS 2.0.0, UK Core. Each is asked of objects of
the type that it is published on. Where engines differ, DIFFERS names the expression and the reason.
"""

from __future__ import annotations

import copy
import json
import random
import shutil
import subprocess
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from bridge.check.structure import Walk
from bridge.fhir import tables
from bridge.fhir.path import Env, invariant
from bridge.fhir.path.build import build
from bridge.fhir.path.careful import careful
from bridge.fhir.path.syntax import parse
from bridge.fhir.path.undecided import BeyondError
from tests.oracles.test_fhirpath import examples, keys
from tests.oracles.test_outside import unable
from tests.standards import ROOT, standard_json, standards_file, standards_folder

PER_EXPRESSION = 60
DIFFERS = {
    "contained.where((('#'+id in (%resource.descendants().reference": (
        "dom-3: as() of many is an error there; here a filter"
    ),
    "(%resource.kind = 'logical' or element.first().path.startsWith(%resource.type))": (
        "sdf-8: an argument is looked at there even where there is nothing to compare with it"
    ),
}
"""How expressions begin that NLM's engine answers otherwise, and why."""


def definitions() -> Iterator[Any]:
    for name in ("profiles-resources", "profiles-types", "profiles-others", "extension-definitions"):
        yield from (entry["resource"] for entry in standard_json(f"fhir-r4/{name}.json.gz")["entry"])
    for folder in ("ips", "uk-core"):
        standards_file(folder)
        for path in sorted((standards_folder() / folder).glob("*.json*")):
            data = standard_json(f"{folder}/{path.name}")
            yield from data if isinstance(data, list) else [data]


@cache
def constraints() -> dict[str, set[str]]:
    """Every expression with the types of the objects it is published on."""
    found: dict[str, set[str]] = defaultdict(set)
    for definition in definitions():
        if definition.get("resourceType") != "StructureDefinition":
            continue
        rows = (definition.get("snapshot") or definition.get("differential") or {}).get("element", [])
        for row in rows:
            types = {type["code"] for type in row.get("type", [])} | {row["path"]}
            for constraint in row.get("constraint", []):
                if "expression" in constraint:
                    found[constraint["expression"]] |= {type for type in types if tables.knows(type)}
    return dict(found)


@cache
def asked() -> list[tuple[Any, str, str, str]]:
    """Resource, path of an object, its type, expression: the same draw each time."""
    chance = random.Random(5)
    by_type: dict[str, list[tuple[Any, str, str]]] = defaultdict(list)
    for resource in examples():
        for node in Walk(resource).nodes:
            if node.type != "Element" and node.resource is resource:
                for kind in tables.lineage(node.type):
                    by_type[kind].append((resource, node.path, node.type))
    questions = []
    for expression, types in sorted(constraints().items()):
        nodes = [one for kind in sorted(types) for one in by_type[kind]]
        for resource, path, type in chance.sample(nodes, min(len(nodes), PER_EXPRESSION)):
            questions += [(r, path, type, expression) for r in (resource, mutant(resource, path, chance))]
    return questions


def at(resource: Any, path: str) -> Any:
    for key in keys(path, resource["resourceType"]):
        resource = resource[key]
    return resource


def mutant(resource: Any, path: str, chance: random.Random) -> Any:
    """The resource with one thing less, doubled or different in the object."""
    changed = copy.deepcopy(resource)
    node = at(changed, path)
    names = sorted(name for name in node if name not in {"resourceType", "contained"})
    if names:
        name = chance.choice(names)
        way = chance.randrange(3)
        if way == 0 or not isinstance(node[name], list | str):
            del node[name]
        elif isinstance(node[name], list):
            node[name] = node[name] * 2
        else:
            node[name] = chance.choice(["", "x", "http://example.org/x", "#x", "final", "2020-13"])
    return changed


def quick(resource: Any, path: str, type: str, expression: str) -> bool | None:
    env = Env(resource, resource, lambda reference, within: None)
    return invariant(expression)(at(resource, path), type, env)


def by_nlm(file: Path) -> list[str]:
    if shutil.which("node") is None or not (ROOT / "tests/oracles/npm/node_modules").is_dir():
        unable("NLM's fhirpath.js is not installed: run tests/oracles/npm/install")
    expressions = sorted(constraints())
    numbers = {e: n for n, e in enumerate(expressions)}
    rows = []
    for resource, path, type, expression in asked():
        base = None if tables.is_resource(type) else type
        way = keys(path, resource["resourceType"])
        node = {"at": way, "resource": [], "base": base, "ask": [numbers[expression]]}
        rows.append({"data": resource, "nodes": [node]})
    file.write_text(json.dumps({"expressions": expressions, "resources": rows}))
    command = [str(shutil.which("node")), str(ROOT / "tests/oracles/npm/fhirpath.js"), str(file)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert run.returncode == 0, run.stderr[-800:]
    return [one for resource in json.loads(run.stdout) for nodes in resource for one in nodes]


def test_the_quick_engine_says_what_nlms_says(tmp_path: Path) -> None:
    told = by_nlm(tmp_path / "asked.json")
    differ: Counter[str] = Counter()
    for question, answer in zip(asked(), told, strict=True):
        if quick(*question) is not {"t": True, "e": False, "f": False}.get(answer):
            differ[question[3]] += 1
    assert {
        expression: count for expression, count in differ.items() if not expression.startswith(tuple(DIFFERS))
    } == {}
    assert all(any(expression.startswith(known) for expression in differ) for known in DIFFERS)
    assert Counter(told)["t"] > 5_000
    assert Counter(told)["f"] > 300


def test_the_careful_engine_says_the_same_where_it_says_anything() -> None:
    """fhirpathpy itself stands in for the quick engine, so what both know they must agree on."""
    told: Counter[bool | None] = Counter()
    differ: Counter[str] = Counter()
    for resource, path, type, expression in asked()[::7]:
        env = Env(resource, resource, lambda reference, within: None)
        answer = careful(expression)(at(resource, path), type, env)
        told[answer] += 1
        if answer is not None and answer is not quick(resource, path, type, expression):
            differ[expression] += 1
    assert differ == {}
    assert told[True] > 500
    assert told[False] > 20


def test_the_quick_engine_knows_every_published_constraint() -> None:
    beyond = []
    for expression in constraints():
        try:
            build(parse(expression))
        except BeyondError:
            beyond.append(expression)
    assert len(constraints()) > 200
    assert beyond == []
