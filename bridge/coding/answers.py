"""Words for nothing where a thing is wanted: they become the field's own answer, or are asked about.

Works on the fields of the visit and not on cells, so that it holds for every form of record.
"""

from __future__ import annotations

import re
from typing import Any

from bridge.coding.term_map import TermMaps
from bridge.coding.unknown import cut, without_brackets
from bridge.issues import Issue, Where, issue
from bridge.nothing_words import answer_of, says_nothing
from bridge.phrases import parse_phrase, partly_denied, qualifier
from bridge.phrases.tables import role, tidy, whole
from bridge.visit import Term, Visit
from bridge.visit.care import Allergies, Allergy, Medicines
from bridge.visit.ear import Product

_DIGITS = re.compile(r"\d")


def plain_answers(visit: Visit, maps: TermMaps) -> tuple[Visit, list[Issue]]:
    """The visit with `none known`, `none` and nothing asked where words say so; an issue for each word that leaves
    it open, and for advice that was not given. Nothing is guessed, and nothing moves that an issue speaks of."""
    issues: list[Issue] = []
    changed: dict[str, Any] = {
        "allergies": _allergies(visit, maps, issues),
        "medicines": _medicines(visit, issues),
        **_requests(visit, issues),
    }
    for index, advice in enumerate(visit.advice):
        if says_nothing("advice", advice.term.text):
            told = f"“{cut(advice.term.text)}” says that no advice was given, and goes out as such."
            issues.append(_told("M109", told, visit, f"advice[{index}].term", f"advice:{advice.term.text}"))
    return visit.model_copy(update={k: v for k, v in changed.items() if v is not getattr(visit, k)}), issues


def _told(rule: str, message: str, visit: Visit, path: str, cause: str) -> Issue:
    return issue(rule, message, Where(path=path, record=visit.number), cause=cause.casefold())


def _allergies(visit: Visit, maps: TermMaps, issues: list[Issue]) -> Allergies | None:
    listed = visit.allergies
    items = listed.items if listed else ()
    only = items[0].term.text if len(items) == 1 else ""
    if answer_of("allergies", only) == "none known" and items[0] == Allergy(term=Term(text=only)):
        return Allergies(answer="none known")
    for index, item in enumerate(items):
        if not item.term.codings and item.term.assertion is None and not _substance(item.term.text, maps):
            told = f"“{cut(item.term.text)}” does not plainly name what the client is allergic to."
            issues.append(_told("M108", told, visit, f"allergies.items[{index}].term", f"allergy:{item.term.text}"))
    return listed


def _substance(text: str, maps: TermMaps) -> bool:
    """Whether words plainly name one thing somebody is allergic to: not denied, not doubted, not past."""
    if maps.find("allergy", text):
        return True
    bare = tidy(_DIGITS.sub("", without_brackets(text)))
    lead = next((w for w in role("allergic") if bare.casefold().startswith(w + " ")), "")
    bare = bare[len(lead) :].strip()
    if answer_of("allergies", text) or answer_of("allergies", bare):
        return False
    phrase = parse_phrase(bare)
    return phrase is not None and phrase.assertion is None


def _medicines(visit: Visit, issues: list[Issue]) -> Medicines | None:
    listed = visit.medicines
    items = listed.items if listed else ()
    only = items[0].name.text if len(items) == 1 else ""
    if answer_of("medicines", only) == "none" and items[0] == Product(name=Term(text=only)):
        return Medicines(answer="none")
    for index, item in enumerate(items):
        text = item.name.text
        if answer_of("medicines", text):
            told = f"“{cut(text)}” says neither which medicine is taken nor plainly that there is none."
        elif not item.name.assertion and partly_denied(without_brackets(text), "medicine"):
            told = f"“{cut(text)}” does not plainly say whether it is taken."
        elif _ended_somewhere(item.name):
            told = f"“{cut(text)}” speaks of an end, and does not plainly say whether it is still taken."
        else:
            continue
        issues.append(_told("M108", told, visit, f"medicines.items[{index}].name", f"medicine:{text}"))
    return listed


def _ended_somewhere(name: Term) -> bool:
    """Whether longer words hold one for an end that does not stand where it would be read."""
    bare = without_brackets(name.text)
    if name.codings or name.assertion or parse_phrase(bare, "medicine") or qualifier(bare, "medicine"):
        return False
    return any(whole(word, exact=False).search(bare) for word in role("ended"))


def _requests(visit: Visit, issues: list[Issue]) -> dict[str, Any]:
    nothing = [says_nothing("request", request.action) for request in visit.requests]
    if not any(nothing):
        return {}
    if all(nothing) and all(set(r.model_fields_set) <= {"action"} for r in visit.requests):
        return {"requests": (), "no_request": True}
    for index, request in enumerate(visit.requests):
        if nothing[index]:
            told = f"“{cut(request.action)}” says that nothing is asked of the doctor, and more stands beside it."
            issues.append(_told("M108", told, visit, f"requests[{index}].action", f"request:{request.action}"))
    return {}
