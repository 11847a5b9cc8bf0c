"""P: resources held against profiles, those that they claim and those that are asked for."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

from bridge.check.profiles.asked import Asked, claims_only
from bridge.check.profiles.claims import claimed, implied, resources
from bridge.check.profiles.codes import check_codes
from bridge.check.profiles.context import Context
from bridge.check.profiles.extensions import check_extensions
from bridge.check.profiles.part import Item
from bridge.check.profiles.run import Held, Run
from bridge.enough import EnoughError, enough
from bridge.fhir import tables
from bridge.fhir.ndjson import Lines
from bridge.issues import Issue, Where, issue
from bridge.safe_text import like_code

__all__ = ["Asked", "Held", "check_profiles"]

_CANONICAL = re.compile(r"https?://[A-Za-z][A-Za-z0-9.-]*(?:/[A-Za-z][A-Za-z0-9._-]*)+(?:\|[0-9A-Za-z.-]{1,20})?")


def check_profiles(
    data: Any, path: str, asked: Asked | None = None, explain: Callable[[Held], None] | None = None
) -> list[Issue]:
    """Everything in which data departs from the profiles that it claims, that the standard sets for vital signs, and
    that are asked for; and extensions that depart from their definitions. Never raises for the data.

    `path`: what the data as a whole is called (`Patient`).
    """
    asked = asked or claims_only()
    run = asked.run(explain)
    return enough(_found(data, path, asked, run), Where(path=path))


def _found(data: Any, path: str, asked: Asked, run: Run) -> Iterator[Issue]:
    try:
        for item, context in resources(data, path):
            run.another()
            if asked.profiles and _is_asked(data, item, path):
                for url in asked.profiles:
                    yield from _against(url, item, context, asked, run, forced=True)
            for number, url in claimed(item[0]):
                yield from _against(url, item, context, asked, run, number=number)
            for url in implied(item[0]):
                yield from run.hold(url, item, context)
            yield from check_extensions(item, context, asked, run)
        if asked.server is not None or asked.library.added_any:
            yield from check_codes(data, asked.terminology, partial(asked.library.added, "code_systems"))
        if asked.server is not None:
            yield from asked.told_of_server()
    except (EnoughError, RecursionError) as error:
        more = str(error) if isinstance(error, EnoughError) else "profiles can follow, one within the other"
        yield issue("S117", f"More than {more}; the rest was not looked at.", Where(path=path))


def _is_asked(data: Any, item: Item, path: str) -> bool:
    """Whether the profiles that are asked for are meant for this resource: the outermost, or one on a line."""
    if isinstance(data, Lines):
        return item[2].startswith(f"{path}.entry[") and item[2].count(".") == 2 and item[2].endswith("].resource")
    return item[2] == path


def _like_canonical(url: str) -> bool:
    """Whether it looks like a profile's address, and so may be quoted."""
    return (
        len(url) <= 200 and _CANONICAL.fullmatch(url) is not None and like_code(url.partition("|")[0].rsplit("/", 1)[1])
    )


def _against(
    url: str, item: Item, context: Context, asked: Asked, run: Run, *, number: int = 0, forced: bool = False
) -> Iterator[Issue]:
    where = Where(path=item[2] if forced else f"{item[2]}.meta.profile[{number}]")
    if asked.plans.is_type(url):
        type = asked.plans.type_of(url)
    else:
        about = asked.plans.about(url)
        if about is None or about.get("unusable"):
            rule, told = ("P146", "asked for") if forced else ("P141", "claimed here")
            what = "is not at hand" if about is None else "cannot be used, since what it builds on is not at hand"
            near = asked.library.like(url) if forced and about is None else ""
            near = f" Near it: {near[:200]}" if near else ""
            named = f": {url}" if forced or _like_canonical(url) else ""
            yield issue(rule, f"The profile {told} {what}{named}.{near}", where, cause=f"{rule}{named}")
            return
        type = str(about.get("type", ""))
        if note := asked.library.version_note(url):
            yield issue("P147", note, where, cause=f"P147:{url}")
        for problem in about.get("problems", ()):
            yield issue("P145", f"{url[:120]}: {problem}", where, cause=f"P145:{url}")
    if type not in tables.lineage(item[1]):
        yield issue("P142", f"The profile {url[:120]} is for {type[:60]}, and this is {item[1]}.", where)
        return
    yield from run.hold(url, item, context)
