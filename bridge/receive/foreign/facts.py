"""What one resource of another system says, as a part of a visit, with the leaves that this part holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bridge.ear_words import Ear, Stage
from bridge.issues import Issue, Where, issue
from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.nodes import Node, Taking
from bridge.receive.foreign.sides import Site
from bridge.receive.foreign.sources import Source


@dataclass(slots=True)
class Fact:
    """One part of a visit. `field` is the field of an ear's record (`impressions`), of one of its examinations
    (`drum.findings`), or of the visit (`medicines`)."""

    field: str
    value: Any
    take: Taking
    ear: Ear | None = None
    stage: Stage | None = None


@dataclass(slots=True)
class Case:
    """One encounter of one client, with what is needed to read the resources that belong to it."""

    encounter: Node
    addresses: Addresses
    not_today: dict[int, str]
    """Sources that a section or list calls past, or somebody else's."""
    lonely_allergy: bool = False
    """Whether the bundle holds no more than one statement about allergies of this client."""
    works: dict[Ear, list[Node]] = field(default_factory=dict)
    """Procedures of this visit on each ear."""
    issues: list[Issue] = field(default_factory=list)

    def ask(self, rule: str, node: Node, message: str) -> None:
        self.issues.append(ask(rule, node.source, message))

    def past(self, node: Node) -> bool:
        return self.not_today.get(node.source.number) == "past"


Reader = Callable[[Node, Case], list[Fact]]


def ask(rule: str, source: Source, message: str) -> Issue:
    return issue(rule, message, Where(path=source.path), cause=f"{rule}:{message}")


def sided(node: Node, site: Site, case: Case) -> bool:
    """Whether the ears are known; X153 where two places disagree."""
    if site.at_odds:
        said = f"This {node.source.type} names one ear in one place and another in another, so it is in no visit."
        case.ask("X153", node, said)
    return bool(site.ears)


def doubted(node: Node, case: Case) -> None:
    said = f"The words of this {node.source.type} do not plainly state what its codes or its state do."
    case.ask("X154", node, said + " It is kept as it came.")
