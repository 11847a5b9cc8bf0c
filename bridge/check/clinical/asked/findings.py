"""What stands beside what: terms that a record states, none beside something, whether a drum is told to be whole.

Questions about the record itself know, except where it only suspects what they ask for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.asked.meant import group
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Stated, stated, values


@asked("more_beside_none", fields=("ear",), options=("in", "none", "apart"), about_record=True)
def more_beside_none(context: Context, **handed: Any) -> Answer:
    """Whether a list that says none holds something else as well, but for what `apart` stands for."""
    if len(values(handed["in"], context)) < 2:
        return False
    listed = stated(handed["in"], context)
    none = group(handed["none"])
    if not any(one.said in ("present", "past") and one.concepts & none for one in listed):
        return False
    apart = frozenset().union(*map(group, handed.get("apart", ()))) | none
    said = {one.said for one in listed if not one.concepts & apart}
    if said & {"present", "past"}:
        return True
    return None if "suspected" in said else False


@asked("more_beside_none_here", fields=("item",), options=("in", "none", "apart"), about_record=True)
def more_beside_none_here(context: Context, **handed: Any) -> Answer:
    """The same of a list of the item that is looked at."""
    return more_beside_none(context, **handed)


@asked("told_and_denied", fields=("ear",), options=("in",), about_record=True)
def told_and_denied(context: Context, **handed: Sequence[str]) -> Answer:
    """Whether one list both tells and denies the same thing. Not known where it denies what it suspects."""
    known: Answer = False
    for field in handed["in"]:
        if len(values(field, context)) < 2:
            continue
        listed = stated(field, context)
        denied = {c for one in listed if one.said == "absent" and not _placed(one) for c in one.concepts}
        said = {one.said for one in listed if not denied.isdisjoint(one.concepts)} if denied else set()
        if said & {"present", "past"}:
            return True
        known = None if "suspected" in said else known
    return known


@asked("told_and_denied_here", fields=("item",), options=("in",), about_record=True)
def told_and_denied_here(context: Context, **handed: Sequence[str]) -> Answer:
    """The same of a list of the item that is looked at."""
    return told_and_denied(context, **handed)


def _placed(one: Stated) -> bool:
    """Whether something is denied of a place only."""
    return getattr(one.item, "place", None) is not None


@asked("drum_whole_before", fields=("ear.before.drum",))
def drum_whole_before(context: Context) -> Answer:
    """Whether the drum is told to be whole before the work."""
    return _whole("ear.before.drum", context)


@asked("drum_whole_after", fields=("ear.after.drum",))
def drum_whole_after(context: Context) -> Answer:
    """Whether the drum is told to be whole after the work."""
    return _whole("ear.after.drum", context)


def _whole(field: str, context: Context) -> Answer:
    """Yes: normal, intact, or a hole denied. No: a hole, a tube, no drum. Not known: anything else, and both."""
    open_drum, closed = group("drum-not-closed"), group("drum-told-whole")
    whole, opened = False, False
    for part in values(field, context):
        whole = whole or part.answer == "normal"
    for one in stated(f"{field}.findings", context):
        if one.said == "suspected" and one.concepts & open_drum:
            return None
        opened = opened or (one.said == "present" and bool(one.concepts & open_drum))
        whole = whole or (one.said == "present" and bool(one.concepts & closed))
        whole = whole or (one.said == "absent" and bool(one.concepts & group("hole-in-drum")))
    return None if whole == opened else whole


@asked("drum_described", fields=("item.drum",), about_record=True)
def drum_described(context: Context) -> Answer:
    """Whether something is told of the drum that nobody can tell unseen. Not known where all is suspected."""
    if any(part.answer == "normal" for part in values("item.drum", context)):
        return True
    told = {one.said for one in stated("item.drum.findings", context) if _of_the_drum(one)}
    return bool(told & {"present", "absent"}) or (None if "suspected" in told else False)


def _of_the_drum(one: Stated) -> bool:
    return any(c.startswith("drum-") for c in one.concepts) and "drum-unclear" not in one.concepts


@asked("thing_left", fields=("ear.after.contents", "ear.work"))
def thing_left(context: Context) -> Answer:
    """Whether a foreign body is still there: told after the work, told to be gone, or its removal called complete."""
    things = group("thing-in-canal")
    listed = stated("ear.after.contents.findings", context)
    said = {one.said for one in listed if one.concepts & things}
    if "present" in said:
        return True
    gone = {"absent"} & said or any(one.concepts & {"contents-none"} and one.said == "present" for one in listed)
    if gone or any(part.answer == "normal" for part in values("ear.after.contents", context)):
        return False
    removed = (w for w in values("ear.work", context) if _coded(w.method, "method-foreign-body"))
    return False if any(_coded(w.outcome, "outcome-complete") for w in removed) else None


@asked("no_surgery", fields=("ear.history", "visit.cautions"))
def no_surgery(context: Context) -> Answer:
    """Whether the history says that there was no ear surgery. Not known where it says nothing of it, or both."""
    surgery, cautions = group("mastoid-or-ear-surgery"), stated("visit.cautions", context)
    listed = stated("ear.history", context)
    of_this_ear = (one for one in cautions if one.item.ear in (None, context.ear))
    had = any(one.said in ("past", "present") and one.concepts & surgery for one in (*listed, *of_this_ear))
    none = any(one.said in ("past", "present") and one.concepts & {"past-none"} for one in listed)
    none = none or any(one.said == "absent" and one.concepts & surgery for one in listed)
    return None if had == none else none


def _coded(term: Any, concept: str) -> bool:
    return term is not None and any(coding.code == concept for coding in term.codings)
