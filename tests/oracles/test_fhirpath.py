"""NLM's fhirpath.js (npm, 5.2.2) as the judge of our constraints: what does the published expression say?

Every published FHIRPath expression is evaluated on every object it is about in the published examples, the demo
bundles, the cases of the rules (tests/cases/V*.yaml) and seeded mutants of the examples, and compared with the
function that we have for its key. An empty answer says nothing against the data. DIFFERS names every key
where the standard's text says something else than its expression, or the engine cannot say anything.
"""

from __future__ import annotations

import copy
import json
import random
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from bridge.check.invariants import own_constraints
from bridge.check.invariants.registry import Holds
from bridge.check.node import Node
from bridge.check.structure import Walk
from bridge.fhir import tables
from tests.oracles.test_outside import unable
from tests.standards import ROOT, standards_file, standards_folder

HERE = Path(__file__).parent
MUTANTS = 4_000
Data = dict[str, Any]

ERROR, EMPTY, STRICTER, LOOSER = "error", "empty", "stricter", "looser"
"""What the engine cannot evaluate; where we object and it says nothing; where we object and it agrees with the data;
where it objects and we do not."""
DIFFERS = {
    "dom-3": ({ERROR}, "as() is for one item"),
    "dom-6": ({LOOSER}, "what is contained is told by the text of its container"),
    "ele-1": ({STRICTER}, "every object has a value for this engine; simple values are told where they stand"),
    "rng-2": ({ERROR, STRICTER}, "quantities without a coded unit are texts or objects for this engine"),
    "tim-9": ({ERROR}, "in is for one item"),
    "con-3": ({LOOSER}, "compares a CodeableConcept with a string, so that every category is a problem list"),
    "ppc-2": ({STRICTER}, "names a code system that does not exist"),
    "ppc-3": ({STRICTER}, "as ppc-2"),
    "ppc-4": ({STRICTER}, "as ppc-2"),
    "ppc-5": ({STRICTER}, "as ppc-2"),
    "ctm-1": ({STRICTER}, "a type beside a reference or a contained resource is enough; resolve() is the test's own"),
    "obs-7": ({STRICTER}, "compares displays too; a code is the same whatever is displayed"),
    "age-1": ({STRICTER}, "the unit being one of time is in the text alone"),
    "dis-1": ({STRICTER}, "the unit being one of length is in the text alone"),
    "drt-1": ({EMPTY, STRICTER}, "text alone: a code beside a value (a warning), of time, and any system being UCUM"),
    "bdl-11": ({EMPTY}, "a document without entries has no Composition either"),
    "bdl-12": ({EMPTY}, "a message without entries has no MessageHeader either"),
    "csd-1": ({LOOSER}, "descendants() goes into contained code systems, whose codes are their own"),
    "eld-2": ({LOOSER}, "takes -1 for a number; eld-3 tells that it is none"),
    "eld-11": ({STRICTER}, "select() gives false for each other type, and that exists as well"),
    "eld-12": ({STRICTER}, "is content with http: alone"),
    "eld-16": ({STRICTER}, "lets a slash stand at either end"),
    "eld-19": ({STRICTER}, "matches() is content with a part of the path"),
    "eld-20": ({STRICTER, LOOSER}, "as eld-19, and what that forbids is told once"),
    "sdf-1": ({STRICTER}, "looks at the snapshot alone; the text speaks of both"),
    "sdf-5": ({EMPTY}, "an absent derivation is not specialization"),
    "sdf-8a": ({STRICTER}, "lets the name of the type go on (PatientX)"),
    "sdf-16": ({LOOSER}, "counts absent ids, of which sdf-14 speaks"),
    "sdf-17": ({LOOSER}, "as sdf-16"),
    "sdf-19": ({STRICTER}, "asks that a type looks like the name of one; the text that it is one"),
    "sdf-21": ({EMPTY}, "as sdf-5"),
    "que-2": ({LOOSER}, "descendants() goes into contained questionnaires, whose ids are their own"),
    "que-5": ({STRICTER}, "allows a value set to items that take no codes; the definition of the element does not"),
    "que-7": ({LOOSER}, "Boolean is the type of FHIRPath for this engine, and the answer a boolean of FHIR"),
    "que-12": ({STRICTER}, "counts to three; the text says more than one"),
    "que-13": ({EMPTY}, "an absent repeats is not true"),
    "vsd-9": ({EMPTY}, "an absent abstract is not true"),
    "opd-2": ({EMPTY}, "an absent type is not string"),
    "opd-3": ({EMPTY}, "an absent type is not Reference"),
    "md-1": ({EMPTY}, "toInteger() of what is no number; the text allows a number or *"),
    "tst-3": ({STRICTER}, "forbids only all three together; the text allows one"),
    "tst-4": ({STRICTER}, "asks it of all capabilities together; the text speaks of each"),
    "tst-7": ({EMPTY}, "an absent type is none of those that need no target"),
    "tst-10": ({STRICTER}, "lets both ways through; the text allows one"),
}

NAMES = {key: kind for kind, rows in tables.invariants().items() for key in rows if key.endswith("-0")}
"""The key of each type on the names by which programs know its resources."""
DIFFERS |= {key: ({STRICTER}, "matches() is content with a part of the name") for key in NAMES}
NEVER_FALSE = {"dom-3", "ppc-2", "ppc-3", "ppc-4", "ppc-5", "eld-11"}
"""Of those, the ones that the engine never finds broken."""


class Question(NamedTuple):
    """One of our functions on one object, and the numbers of the published expressions it stands for."""

    node: Node
    keys: tuple[str, ...]
    expressions: tuple[int, ...]
    holds: bool


class Batch:
    """What is asked of the engine, put together instance by instance."""

    def __init__(self) -> None:
        self.expressions: dict[str, int] = {}
        self.resources: list[Data] = []
        self.questions: list[list[list[Question]]] = []

    def add(self, data: Any) -> None:
        groups: dict[int, list[Node]] = {}
        for node in Walk(data).nodes:
            if node.type != "Element":
                groups.setdefault(id(node.resource), []).append(node)
        for nodes in groups.values():
            self._add(nodes)

    def _add(self, nodes: list[Node]) -> None:
        """The objects of one resource, that itself first, with what it contains."""
        root = nodes[0]
        inner = [node.path for node in nodes if tables.is_resource(node.type)]
        asked: list[Data] = []
        questions: list[list[Question]] = []
        for node in nodes:
            mine = list(self._questions(node))
            if not mine:
                continue
            owner = max((p for p in inner if node.path == p or node.path.startswith(f"{p}.")), key=len)
            base = None if tables.is_resource(node.type) else node.type
            numbers = [number for question in mine for number in question.expressions]
            at, resource = keys(node.path, root.path), keys(owner, root.path)
            asked.append({"at": at, "resource": resource, "base": base, "ask": numbers})
            questions.append(mine)
        self.resources.append({"data": root.value, "nodes": asked})
        self.questions.append(questions)

    def _questions(self, node: Node) -> Iterator[Question]:
        for kind in tables.lineage(node.type):
            published = expressions(kind)
            for told, functions in together(kind):
                mine = tuple(key for key in told if key in published)
                numbers = tuple(self.expressions.setdefault(published[k], len(self.expressions)) for k in mine)
                if mine:
                    yield Question(node, mine, numbers, all(holds(node.value, node) for holds in functions))

    def answers(self, file: Path) -> Iterator[tuple[Question, list[str]]]:
        """Every question with what the engine says of each of its expressions; one process for all."""
        file.write_text(json.dumps({"expressions": list(self.expressions), "resources": self.resources}))
        command = [str(shutil.which("node")), str(HERE / "npm/fhirpath.js"), str(file)]
        run = subprocess.run(command, capture_output=True, text=True, timeout=300)
        assert run.returncode == 0, run.stderr[-800:]
        told = json.loads(run.stdout)
        for questions, of_nodes in zip(self.questions, told, strict=True):
            for mine, verdicts in zip(questions, of_nodes, strict=True):
                left = iter(verdicts)
                for question in mine:
                    yield question, [next(left) for _ in question.expressions]


@cache
def together(kind: str) -> list[tuple[tuple[str, ...], list[Holds]]]:
    """The functions on a type, those that share a key in one group: published keys, functions."""
    groups: list[tuple[tuple[str, ...], list[Holds]]] = []
    for _, told, holds in own_constraints(kind):
        names, functions = dict.fromkeys(told.split(", ")), [holds]
        for group in [group for group in groups if not names.keys().isdisjoint(group[0])]:
            groups.remove(group)
            names, functions = names | dict.fromkeys(group[0]), group[1] + functions
        groups.append((tuple(names), functions))
    return groups


@cache
def expressions(kind: str) -> dict[str, str]:
    """Published expressions by key that functions on a type answer for.

    One that is published on an element of the type, which has a type of its own, is asked of all that stand there.
    """
    found: dict[str, str] = {}
    for key in (key for told, _ in together(kind) for key in told):
        for path, rows in tables.invariants().items():
            if key in rows and path == kind:
                found[key] = rows[key]["expression"]
            elif key in rows and path.startswith(f"{kind}.") and key not in found:
                below = path[len(kind) + 1 :].removesuffix("[x]")
                found[key] = f"{below}.all({rows[key]['expression']})"
    return found


def keys(path: str, start: str) -> list[str | int]:
    """`Patient.name[0]` from `Patient` on: name, 0."""
    return [name or int(index) for name, index in re.findall(r"\.([^.\[]+)|\[(\d+)\]", path[len(start) :])]


def cases() -> Iterator[Any]:
    for file in sorted((ROOT / "tests/cases").glob("V*.yaml")):
        rows = yaml.safe_load(file.read_text(encoding="utf-8"))
        given = [*rows["passes"], *(case["given"] for case in rows["fails"])]
        yield from (one for one in given if "resourceType" in one)


def small_ones() -> Iterator[Any]:
    """What no case has; the rest of these resources does not matter here."""
    for kind in NAMES.values():
        yield from ({"resourceType": kind, "name": name} for name in ("Ears", "Ear wax", "ear"))
    for element in ({"path": "?"}, {"path": "9"}, {"path": "Patient", "min": 0, "max": "-1"}):
        yield {"resourceType": "StructureDefinition", "kind": "logical", "snapshot": {"element": [element]}}
    aimed = {"name": "ear", "targetProfile": ["http://example.org/Ear"]}
    yield {"resourceType": "OperationDefinition", "parameter": [aimed]}


@cache
def examples() -> list[Any]:
    standards_file("fhir-r4-examples")
    return [json.loads(p.read_bytes()) for p in sorted((standards_folder() / "fhir-r4-examples").rglob("*.json"))]


def mutants() -> Iterator[Any]:
    """Examples and cases with one or two elements taken away or put in from a like object, still right in shape."""
    choose = random.Random(7)
    sources = [one for one in [*examples(), *cases()] if len(json.dumps(one)) < 40_000]
    pool: dict[str, list[Data]] = {}
    for one in sources:
        for node in Walk(one).nodes:
            pool.setdefault(node.type, []).append(node.value)
    for _ in range(MUTANTS):
        data = copy.deepcopy(choose.choice(sources))
        for _ in range(choose.choice((1, 1, 2))):
            nodes = [node for node in Walk(data).nodes if own_constraints(node.type)]
            if not nodes:
                break
            node = choose.choice(nodes)
            like = choose.choice(pool.get(node.type, [{}]))
            taken = choose.random() < 0.5 and [key for key in node.value if key != "resourceType"]
            if taken:
                del node.value[choose.choice(taken)]
            elif added := [key for key in like if key != "resourceType"]:
                key = choose.choice(added)
                node.value[key] = copy.deepcopy(like[key])
        if not Walk(data).issues:
            yield data


class Results(NamedTuple):
    wrong: list[str]
    met: set[tuple[str, str]]
    agreed: Counter[tuple[str, bool]]


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Results:
    if shutil.which("node") is None:
        unable("node is not installed")
    if not (HERE / "npm/node_modules/fhirpath").is_dir():
        unable("the npm packages are not installed; run tests/oracles/npm/install")
    batch = Batch()
    demo = sorted((ROOT / "demo_bundles").rglob("*.bundle.json"))
    for data in [*examples(), *(json.loads(p.read_bytes()) for p in demo), *cases(), *small_ones(), *mutants()]:
        batch.add(data)
    found = Results([], set(), Counter())
    for question, told in batch.answers(tmp_path_factory.mktemp("fhirpath") / "batch.json"):
        note(found, question, told)
    return found


def note(found: Results, question: Question, told: list[str]) -> None:
    """Compares; what differs must stand in DIFFERS under one of the keys that can be meant."""
    odd: list[tuple[str, str]] = []
    for key, verdict in zip(question.keys, told, strict=True):
        if verdict not in ("t", "f", "e"):
            odd.append((key, ERROR))
        elif verdict == "f" and question.holds:
            odd.append((key, LOOSER))
        elif verdict == "f" or question.holds:
            found.agreed[key, verdict != "f"] += 1
    if not question.holds and not odd and "f" not in told:
        kind = EMPTY if "e" in told else STRICTER
        odd += [(key, kind) for key in question.keys if kind in allowed(key)] or [(question.keys[0], kind)]
    for key, kind in odd:
        found.met.add((key, kind))
        if kind not in allowed(key):
            place = question.node.path
            found.wrong.append(f"{key} {kind} at {place}: {told} {json.dumps(question.node.value)[:300]}")


def allowed(key: str) -> set[str]:
    return DIFFERS[key][0] if key in DIFFERS else set()


def test_we_agree_with_the_published_expressions(results: Results) -> None:
    print(f"\n{results.agreed.total()} verdicts agree, {sum(n for (_, t), n in results.agreed.items() if not t)} false")
    assert results.wrong == []


def test_every_difference_that_is_named_is_met(results: Results) -> None:
    assert {(key, kind) for key, (kinds, _) in DIFFERS.items() for kind in kinds} - results.met == set()


def test_every_constraint_was_seen_to_hold_and_not_to_hold(results: Results) -> None:
    asked = {key for kind in tables.types() for key in expressions(kind)}
    assert {key for key in asked if not results.agreed[key, True]} == set()
    assert {key for key in asked if not results.agreed[key, False]} == NEVER_FALSE
