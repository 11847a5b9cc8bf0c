"""What came of de-identifying, and what is told of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from bridge.deidentify import Cells, Wishes
from bridge.issues import Issue, Where, issue
from bridge.visit import Visit

CAUTION = (
    "Pseudonymised is not anonymous. Whoever has the key, or knows the clients, can find out who some of them are, so "
    "in the United Kingdom these are still personal data (UK GDPR, article 4(5)). Keep them as you keep records, give "
    "them to nobody who does not need them, and delete them when the purpose is over. This is not legal advice: ask "
    "whoever answers for data protection in your practice."
)


@dataclass(slots=True)
class Deidentified:
    """What came of them."""

    visits: list[Visit] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)
    done: dict[str, int] = field(default_factory=dict)
    """How many values each action of the table took."""
    clients: int = 0
    cells: list[Cells] = field(default_factory=list)


def told(result: Deidentified, wishes: Wishes, old: int, unfit: dict[str, int], twice: int) -> Iterator[Issue]:
    """D240 to D247 but D245. `old`: clients over 89; `unfit`: visits of which too little is left, by the field;
    `twice`: records whose number and version another one has that says something else."""
    if result.visits:
        yield issue("D240", CAUTION, cause="D240")
    if wishes.with_text:
        yield issue("D241", "Free text was kept. Names may stand in it that nothing here could find.", cause="D241")
    for cells in result.cells:
        yield issue("D242", rare(cells, wishes.small), cause="D242")
    if words := result.done.get("words withheld"):
        yield issue("D243", f"Words that no table knows, which may hold names: {words}.", cause="D243")
    for path, count in sorted(unfit.items()):
        message = f"{count} visits were left out: without who they are about they are no visits any more."
        yield issue("D244", message, Where(path=path), cause=f"D244:{path}")
    if old:
        yield issue("D246", f"Clients over 89, whose birth year was left out: {old}.", cause="D246")
    if twice:
        message = f"{twice} records have the number and version of another that says something else, and were left out."
        yield issue("D247", message, cause="D247")


def rare(cells: Cells, small: int) -> str:
    return (
        f"{cells.small} of {cells.all} combinations of {', '.join(cells.what)} have fewer than {small} clients, the "
        f"rarest {cells.least}; {cells.clients} clients stand in one of them."
    )
