"""C: numbers that people and codes are known by: NHS numbers, SNOMED CT identifiers, URIs as identifiers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from bridge.check.look import text
from bridge.check.node import Node
from bridge.check.primitives import uri_problem
from bridge.data import load_csv, table_path
from bridge.fhir.systems import SCT, system
from bridge.issues import Issue, Where, issue
from bridge.number_systems import number_system
from bridge.numbers import nhs_number_problem, sctid_problem

_URI = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+")


def check_identifiers(nodes: list[Node]) -> Iterator[Issue]:
    """Issues of Identifier.value and Coding.code wherever they stand."""
    for node in nodes:
        if node.type == "Identifier":
            yield from _identifier(node)
        elif node.type == "Coding" and text(node.value, "system") == SCT:
            code = text(node.value, "code")
            problem = sctid_problem(code) if code and not _expression(code) else None
            if problem:
                rule = "C112" if "not of a concept" in problem else "C111"
                yield issue(rule, f"This SNOMED CT code {problem}.", Where(path=f"{node.path}.code"))


def _identifier(node: Node) -> Iterator[Issue]:
    told, value = text(node.value, "system"), text(node.value, "value")
    right = _misspelt().get(told)
    if right:
        message = f"{told} is not the address in use; it is {system(right)}."
        yield issue("C113", message, Where(path=f"{node.path}.system"), cause=told)
    where = Where(path=f"{node.path}.value")
    if (right or told) in ("nhs-number", system("nhs-number")):
        if value and (problem := nhs_number_problem(value)):
            yield issue("C110", f"The NHS number {problem}.", where)
        elif value and not value.isdigit():
            yield issue("C110", "The NHS number holds blanks or hyphens; in a document it is ten digits.", where)
    elif value and (numbers := number_system(system(right) if right else told)):
        if numbers.misshapen(value):
            yield issue("C173", f"This {numbers.name} is not {numbers.in_words}.", where, cause=f"C173:{told}")
        elif numbers.fails(value):
            yield issue("C172", f"The check digit of this {numbers.name} does not fit: a slip of typing.", where)
    elif told == system("uri") and value and (not _URI.fullmatch(value) or uri_problem(value)):
        yield issue("C114", "This identifier is said to be an address (URI) and is none.", where)


def _expression(code: str) -> bool:
    """Post-coordinated expressions have a grammar of their own, which is not read here."""
    return any(mark in code for mark in ":|=+{<>")


@cache
def _misspelt() -> dict[str, str]:
    """The system that is meant by an address met in older or misprinted material."""
    return {row["written"]: row["name"] for row in load_csv(table_path("systems-misspelt.csv"))}
