"""What the family doctor is asked to do to the record, in words without ear and full stop."""

from __future__ import annotations

from bridge.fhir.elements import ear_of
from bridge.fhir.own import word
from bridge.fhir.tell.words import day, sentence, words
from bridge.shapes import Json


def task_fact(task: Json) -> str:
    """`Please record the perforation. By 3 June 2026. Why: …`"""
    said = " ".join(sentence(said) for said in (task_action(task), *task_details(task)))
    return said.rstrip(".") or said


def task_action(task: Json) -> str:
    return str(task.get("description") or words(task.get("code")) or "task without words")


def task_details(task: Json) -> list[str]:
    """How fast, by when and why."""
    priority, due = task.get("priority", "routine"), task.get("restriction", {}).get("period", {}).get("end")
    reason = words(task.get("reasonCode"))
    return [
        *([] if priority == "routine" else ["immediately" if priority == "stat" else str(priority)]),
        *([f"by {day(due)}"] if due else []),
        *([f"why: {reason}"] if reason else []),
        *(n["text"] for n in task.get("note", ()) if n.get("text")),
    ]


def task_ears(task: Json) -> set[str]:
    """The ears that its inputs name: a Task has no body site."""
    given = (i.get("valueCodeableConcept") for i in task.get("input", ()) if word("request", i.get("type")) == "ear")
    return {side for side in map(ear_of, given) if side}
