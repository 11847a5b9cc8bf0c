"""T: SNOMED CT codes that are known, and that had better not be sent: old, misleading, or of no side."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from bridge.check.look import inside, text
from bridge.check.node import Node
from bridge.check.sides import laterality
from bridge.data import load_csv, table_path
from bridge.fhir.own import coding
from bridge.fhir.systems import SCT
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json


class Advice(NamedTuple):
    """Why a code had better not be sent, and what to send in its place."""

    told: str
    about_ears: bool
    """Whether the advice holds only in an entry that is about an ear."""


@cache
def advices() -> dict[str, Advice]:
    """By code, from `mappings/not-for-writing.csv`."""
    return {row["code"]: _advice(row) for row in load_csv(table_path("not-for-writing.csv"))}


def _advice(row: dict[str, str]) -> Advice:
    better = [coding(name) for name in row["instead"].split()]
    named = ", ".join(f"{c['code']} ({c['display']})" for c in better)
    told = f"The SNOMED CT code {row['code']} ({row['display']}) is better not used: {row['why']}. Better: {named}."
    return Advice(told, row["about"] == "ear")


def check_not_for_writing(nodes: list[Node]) -> Iterator[Issue]:
    """Issues of Coding.code wherever it stands."""
    about_ears: dict[int, bool] = {}
    for node in nodes:
        if node.type == "Coding" and text(node.value, "system") == SCT:
            code = text(node.value, "code")
            advice = advices().get(code)
            if advice is None:
                continue
            resource = node.resource
            if advice.about_ears and id(resource) not in about_ears:
                about_ears[id(resource)] = _names_an_ear(resource)
            if not advice.about_ears or about_ears[id(resource)]:
                yield issue("T101", advice.told, Where(path=f"{node.path}.code"), cause=code)


def _names_an_ear(resource: Json) -> bool:
    return any(text(part, "system") == SCT and text(part, "code") in _ears() for part in inside(resource))


@cache
def _ears() -> frozenset[str]:
    """Codes of ears and their parts, and codes that name an ear by themselves; not the bare words right and left."""
    parts = {
        row["code"]
        for path in sorted(table_path("codes").glob("snomed-*.csv"))
        for row in load_csv(path)
        if row["tag"] == "body structure"
    }
    bare = {coding(f"sct:{code}")["code"] for code in ("7771000", "24028007", "51440002")}
    return frozenset((parts | set(laterality())) - bare)
