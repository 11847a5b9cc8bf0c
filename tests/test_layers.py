"""The house holds: which module may import which, read from the source, imports inside functions included."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import pytest

ROOT = Path(__file__).parents[1]
CUPBOARDS = {"fhir": 1, "practice": 2, "terminology": 2, "cda": 2, "parcel": 3, "profiles": 3}
"""The cupboards, each with its height: one stands on those below it and may use them."""
ROOMS = {
    "audit",
    "build",
    "check",
    "coding",
    "deidentify",
    "deliver",
    "drafting",
    "marking",
    "read",
    "receive",
    "render",
    "report",
}
CORRIDORS = {
    "asked",
    "audited",
    "audited_changes",
    "audited_sample",
    "beyond_visit",
    "client_summary",
    "deidentified",
    "demo",
    "drafts",
    "handover",
    "leaf_by_leaf",
    "letters",
    "made_again",
    "pipeline",
    "received",
    "received_visits",
    "sending",
    "taken_over",
}
LEAF, ROOM, CORRIDOR, DOOR = 0, 4, 5, 6

ONE_DOOR = {"fhir.resources": {"bridge.fhir.model"}}
"""Packages that only these modules may name at all."""

LATE = {
    "requests",
    "fhirpathpy",
    "lxml",
    "rich",
    "jinja2",
    "rapidfuzz",
    "openpyxl",
    "python_calamine",
    "fhir",
    "typst",
    "pikepdf",
    "cryptography",
    "joserfc",
    "keyring",
    "pyrage",
}
"""Packages that cost so much to import that a module imports them where it needs them, never at its top."""

NEVER_AT_START = LATE | {"pydantic", "yaml", "orjson", "msgspec", "sqlite3"}
"""What `visit-bridge --help` must not import."""

MOST_LINES = 500
MOST_MEDIAN_LINES = 150


def module_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


SOURCES = {module_of(path): path for path in sorted((ROOT / "bridge").rglob("*.py"))}
TREES = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in SOURCES.items()}


def unit_of(module: str) -> str:
    """The file or package right under bridge/ that a module belongs to."""
    return module.split(".")[1] if "." in module else ""


def level_of(module: str) -> int:
    unit = unit_of(module)
    if unit in {"cli", "__main__"}:
        return DOOR
    if unit in CORRIDORS:
        return CORRIDOR
    return ROOM if unit in ROOMS else CUPBOARDS.get(unit, LEAF)


def imports_in(nodes: list[ast.stmt] | ast.AST, module: str) -> Iterator[tuple[str, int]]:
    """Imported modules (ours as far as they are modules) with the line; type-checking blocks are left out."""
    tree = nodes if isinstance(nodes, ast.AST) else ast.Module(nodes, [])
    for node in without_type_checking(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                package = module if SOURCES[module].name == "__init__.py" else module.rpartition(".")[0]
                parts = package.split(".")
                base = ".".join([*parts[: len(parts) - node.level + 1], *([base] if base else [])])
            for alias in node.names:
                deeper = f"{base}.{alias.name}"
                yield (deeper if deeper in SOURCES else base), node.lineno


def without_type_checking(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
        return
    yield node
    for child in ast.iter_child_nodes(node):
        yield from without_type_checking(child)


def top_level(tree: ast.Module) -> list[ast.stmt]:
    """The statements that run when the module is imported, as far as they can import something."""
    return [s for s in tree.body if not isinstance(s, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)]


OUR_IMPORTS = {
    name: {(found, line) for found, line in imports_in(tree, name) if found.split(".")[0] == "bridge"}
    for name, tree in TREES.items()
}


def test_each_module_imports_only_from_nearer_the_leaves() -> None:
    wrong = []
    for module, found in OUR_IMPORTS.items():
        for other, line in sorted(found):
            same = unit_of(module) == unit_of(other)
            beside = level_of(module) == level_of(other) and level_of(module) in {LEAF, CORRIDOR, DOOR}
            if not (same or beside or level_of(other) < level_of(module)):
                wrong.append(f"{SOURCES[module].relative_to(ROOT)}:{line} imports {other}")
    assert wrong == []


def test_every_module_that_is_imported_exists() -> None:
    missing = {other for found in OUR_IMPORTS.values() for other, _ in found if other not in SOURCES}
    assert missing == set()


def test_no_import_cycles() -> None:
    graph = {name: {other for other, _ in found if other != name} for name, found in OUR_IMPORTS.items()}
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, "import cycle: " + " -> ".join([*way[way.index(name) :], name])
        if name not in done:
            for other in sorted(graph.get(name, ())):
                walk(other, (*way, name))
            done.add(name)

    for name in graph:
        walk(name, ())


@pytest.mark.parametrize("package", ONE_DOOR)
def test_a_heavy_package_enters_by_one_door(package: str) -> None:
    named_by = {
        name
        for name, tree in TREES.items()
        for found, _ in imports_in(tree, name)
        if found == package or found.startswith(f"{package}.")
    }
    assert named_by <= ONE_DOOR[package]


def test_costly_packages_are_imported_late() -> None:
    early = {
        f"{name}:{line} {found}"
        for name, tree in TREES.items()
        for found, line in imports_in(top_level(tree), name)
        if found.split(".")[0] in LATE and not any(name in ONE_DOOR.get(p, ()) for p in ONE_DOOR)
    }
    assert early == set()


def test_the_front_door_opens_without_costly_packages() -> None:
    code = (
        "import sys, runpy\nsys.argv = ['visit-bridge', '--help']\n"
        "try: runpy.run_module('bridge', run_name='__main__')\nexcept SystemExit: pass\n"
        "print(' '.join(sorted(m.partition('.')[0] for m in sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert "convert" in done.stdout
    assert set(done.stderr.split()) & NEVER_AT_START == set()


def test_modules_stay_small() -> None:
    lines = {name: len(path.read_text(encoding="utf-8").splitlines()) for name, path in SOURCES.items()}
    assert {name: n for name, n in lines.items() if n > MOST_LINES} == {}
    assert median(lines.values()) < MOST_MEDIAN_LINES


CALLED = {"yaml": "pyyaml", "fhir": "fhir.resources", "jsonschema_rs": "jsonschema-rs", "pydantic_core": "pydantic"}
"""Packages that come under another name than they are imported by, or with another."""


def test_every_package_that_is_imported_is_a_dependency() -> None:
    """Not of the tests alone: who installs the tool has no more than these."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[<>=\[ ]", line, maxsplit=1)[0].lower() for line in project["dependencies"]}
    imported = {name.partition(".")[0] for module, tree in TREES.items() for name, _ in imports_in(tree, module)}
    foreign = imported - set(sys.stdlib_module_names) - {"bridge"}
    assert {CALLED.get(name, name) for name in foreign} - declared == set()
