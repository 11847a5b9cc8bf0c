"""V: Constraints of appointments, tasks, lists, links and the log of who did what."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, numbered, text
from bridge.check.node import Node
from bridge.moments import later
from bridge.shapes import Json

_WITHOUT_TIME = ("proposed", "cancelled", "waitlist")


@invariant("V162", "inv-1", "Task")
def inv_1(node: Json, at: Node) -> bool:
    """Compared as far as both are known, as in periods."""
    return not later(text(node, "authoredOn"), text(node, "lastModified"))


@invariant("V230", "app-1", "Appointment.participant")
def app_1(node: Json, at: Node) -> bool:
    return has(node, "type", "actor")


@invariant("V230", "apr-1", "AppointmentResponse")
def apr_1(node: Json, at: Node) -> bool:
    return has(node, "participantType", "actor")


@invariant("V231", "app-2", "Appointment")
def app_2(node: Json, at: Node) -> bool:
    return has(node, "start") == has(node, "end")


@invariant("V232", "app-3", "Appointment")
def app_3(node: Json, at: Node) -> bool:
    """The text leaves out the waiting list, which the expression allows: whoever waits has no time yet."""
    return (has(node, "start") and has(node, "end")) or text(node, "status") in _WITHOUT_TIME


@invariant("V233", "app-4", "Appointment")
def app_4(node: Json, at: Node) -> bool:
    return not has(node, "cancelationReason") or text(node, "status") in ("no-show", "cancelled")


@invariant("V234", "sev-1", "AuditEvent.entity")
def sev_1(node: Json, at: Node) -> bool:
    """Not both; neither is allowed, as both elements are optional."""
    return not (has(node, "name") and has(node, "query"))


@invariant("V239", "lnk-1", "Linkage")
def lnk_1(node: Json, at: Node) -> bool:
    """A Linkage without any item is S103."""
    items = node.get("item")
    return not isinstance(items, list) or len(items) > 1


@invariant("V240", "lst-1", "List")
def lst_1(node: Json, at: Node) -> bool:
    return not (has(node, "emptyReason") and has(node, "entry"))


@each("V241", "lst-2", "List")
def lst_2(node: Json, at: Node) -> Iterator[str]:
    """Also of a mark that says false."""
    return _entries(node, "deleted", "changes")


@each("V242", "lst-3", "List")
def lst_3(node: Json, at: Node) -> Iterator[str]:
    return _entries(node, "date", "working")


def _entries(node: Json, key: str, mode: str) -> Iterator[str]:
    """Entries with an element that only a list of this mode has."""
    if text(node, "mode") != mode:
        yield from (f".entry[{n}]" for n, entry in numbered(node, "entry") if has(entry, key))
