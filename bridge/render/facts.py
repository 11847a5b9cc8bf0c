"""Facts as a reader meets them: what each is about, and all that is said of it, grouped by ear."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from bridge.fhir.tell import ear, is_told, said, subject
from bridge.fhir.tell.observation import stage_of
from bridge.fhir.tell.words import sentence, upper_first
from bridge.shapes import Json


@dataclass(slots=True)
class Line:
    """`Eardrum: wholly seen; looked normal.` The subject may be empty."""

    subject: str
    sayings: list[str]

    @property
    def words(self) -> str:
        text = "; ".join(s if len(self.sayings) == 1 else s.rstrip(".") for s in self.sayings)
        return sentence(text) if not self.subject else text if text[-1:] in ".?!…" else f"{text}."


@dataclass(slots=True)
class Group:
    """Lines under one ear, or under none."""

    title: str
    lines: list[Line] = field(default_factory=list)


def lines(pairs: Iterable[tuple[str, str]]) -> list[Line]:
    """Each subject once, in the order met; what is said twice of it stands once."""
    found: dict[str, Line] = {}
    loose: list[Line] = []
    ordered: list[Line] = []
    for about, saying in pairs:
        if not about:
            if saying and saying not in (line.sayings[0] for line in loose):
                loose.append(Line("", [saying]))
                ordered.append(loose[-1])
            continue
        line = found.get(about)
        if line is None:
            line = found[about] = Line(upper_first(about), [])
            ordered.append(line)
        if saying and saying not in line.sayings:
            line.sayings.append(saying)
    return ordered


def pair(resource: Json) -> tuple[str, str]:
    """Subject and saying of a resource; one without any words of its own is named by its type."""
    if not is_told(resource) and not resource.get("text", {}).get("div"):
        return "", f"An entry of type {resource['resourceType']} without readable text"
    when = stage_of(resource) if resource["resourceType"] == "Observation" else ""
    return ", ".join(s for s in (subject(resource), when) if s), said(resource)


def by_ear(resources: Iterable[Json]) -> list[Group]:
    """Right ear, left ear, and what has no side; groups without lines are left out."""
    sorted_by: dict[str, list[tuple[str, str]]] = {"right": [], "left": [], "": []}
    for resource in resources:
        sorted_by[ear(resource) or ""].append(pair(resource))
    titles = {"right": "Right ear", "left": "Left ear", "": ""}
    return [Group(titles[side], lines(pairs)) for side, pairs in sorted_by.items() if pairs]
