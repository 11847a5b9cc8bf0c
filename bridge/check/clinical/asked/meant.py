"""Groups of meanings for functions that ask, and what a record names of them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Stated, said_in, stated
from bridge.check.clinical.signs import Signs, named
from bridge.data import table_path
from bridge.ear_words import EARS
from bridge.rule_file import read_shipped

SAID_TO_BE = ("present", "suspected")
"""A warning sign that is suspected counts as there; one that is denied or past does not."""

NAMED = (
    "visit.reasons", "ear.symptoms", "ear.impressions", "ear.history", "ear.work.events",
    "ear.before.canal.findings", "ear.after.canal.findings",
    "ear.before.contents.findings", "ear.after.contents.findings",
    "ear.before.drum.findings", "ear.after.drum.findings",
    "ear.before.outer_ear.findings", "ear.after.outer_ear.findings",
)  # fmt: skip
"""Where signs may stand."""


@cache
def group(name: str) -> frozenset[str]:
    """The concepts of a group of `mappings/clinical/groups/`; of a concept, itself."""
    members = _groups().get(name)
    return frozenset({name}) if members is None else frozenset().union(*(group(one) for one in members))


@cache
def _groups() -> dict[str, Any]:
    found: dict[str, Any] = {}
    for path in sorted(table_path("clinical", "groups").glob("*.yaml")):
        found.update(read_shipped(path)["groups"])
    return found


def there(field: str, context: Context) -> frozenset[str]:
    """All that the field names as present or suspected."""
    said = said_in(field, context)
    return said.present | said.suspected if said.suspected else said.present


def told_of(means: frozenset[str], fields: tuple[str, ...], context: Context) -> list[Stated]:
    """The statements of the fields that are about one of these, whatever they say of it."""
    held = (field for field in fields if not means.isdisjoint(said_in(field, context).all))
    return [one for field in held for one in stated(field, context) if not one.concepts.isdisjoint(means)]


def _signs_of_names(means: str, where: Iterable[str] = ()) -> Signs:
    return frozenset(named(("visit.reasons", *(where or NAMED[1:3])), group(means)))


@asked("names", fields=NAMED, options=("means", "where"), about_record=True, wakes=_signs_of_names)
def names(context: Context, means: str, where: list[str] | tuple[str, ...] = ()) -> bool:
    """Whether the record names one of a group as there or suspected.

    Looking at an ear: in the ear's own fields (and the visit's, where `where` names them). Looking at the visit: in the
    reasons for it, where neither ear names it.
    """
    meant = group(means)
    if context.ear is None:
        reasons = there("visit.reasons", context)
        return not meant.isdisjoint(reasons) and not any(_in_ear(context.at_ear(ear), meant, where) for ear in EARS)
    return _in_ear(context, meant, where)


def _in_ear(context: Context, meant: frozenset[str], where: list[str] | tuple[str, ...]) -> bool:
    for field in where or NAMED[1:3]:  # noqa: SIM110 - a loop costs half of what any() does here
        if not meant.isdisjoint(there(field, context)):
            return True
    return False
