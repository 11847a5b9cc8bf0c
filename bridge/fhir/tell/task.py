"""What the family doctor is asked to do to the record, in words without ear and full stop."""

from __future__ import annotations

from bridge.fhir.elements import ear_of
from bridge.fhir.own import word
from bridge.fhir.tell.words import day, sentence, words
from bridge.shapes import Json
from bridge.wording import say


def task_fact(task: Json) -> str:
    """`Please record the perforation. By 3 June 2026. Why: …`"""
    said = " ".join(sentence(said) for said in (task_action(task), *task_details(task)))
    return said.rstrip(".") or said


def task_action(task: Json) -> str:
    return str(task.get("description") or words(task.get("code")) or say("told.task.nameless"))


def task_details(task: Json) -> list[str]:
    """How fast, by when and why."""
    priority, due = task.get("priority", "routine"), task.get("restriction", {}).get("period", {}).get("end")
    reason = words(task.get("reasonCode"))
    return [
        *priority_words(str(priority)),
        *([say("told.by", day=day(due))] if due else []),
        *([say("told.why", reason=reason)] if reason else []),
        *(n["text"] for n in task.get("note", ()) if n.get("text")),
    ]


def priority_words(priority: str) -> list[str]:
    """How fast an ask is to be done; nothing where it is in the usual time."""
    if priority == "routine":
        return []
    return [say(f"told.priority.{priority}") if priority in _PRIORITIES else priority]


_PRIORITIES = ("stat", "asap", "urgent")


def task_ears(task: Json) -> set[str]:
    """The ears that its inputs name: a Task has no body site."""
    given = (i.get("valueCodeableConcept") for i in task.get("input", ()) if word("request", i.get("type")) == "ear")
    return {side for side in map(ear_of, given) if side}
