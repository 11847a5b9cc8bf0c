"""T: codes whose system is a grammar: units in quantities and codings, languages and media types in codings.

`code` is a symbol in the syntax that the system defines (https://hl7.org/fhir/R4/datatypes.html#Quantity, #Coding).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bridge.check.code_syntax import system_problem
from bridge.check.look import text
from bridge.check.node import Node
from bridge.check.ucum import UCUM, unit_doubt, unit_meant, unit_problem
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue


def check_units(nodes: Iterable[Node]) -> Iterator[Issue]:
    """Every unit, language or media type that is none, at its `code`."""
    for node in nodes:
        if node.type != "Coding" and "Quantity" not in tables.lineage(node.type):
            continue
        system, code = text(node.value, "system"), text(node.value, "code")
        if system == UCUM and code:
            yield from _unit(code, Where(path=f"{node.path}.code"))
        elif code and (problem := system_problem(system, code)):
            yield issue("T112", f"“{code[:60]}” {problem}.", Where(path=f"{node.path}.code"), cause=code[:60])


def _unit(code: str, where: Where) -> Iterator[Issue]:
    if problem := unit_problem(code):
        meant = unit_meant(code)
        told = f"Write {meant}." if meant else ""
        yield issue("T110", f"“{code[:60]}” {problem}.", where, help=told, cause=code[:60])
    elif doubt := unit_doubt(code):
        yield issue("T111", f"The code of this unit {doubt}.", where, cause=doubt)
