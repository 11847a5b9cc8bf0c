"""C: what is doubtful in a record itself, before anything is built from it."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator
from functools import cache
from typing import cast

from pydantic import BaseModel

from bridge.check.guardians import check_guardians
from bridge.check.referral_record import check_referral_record
from bridge.check.sharing import check_sharing
from bridge.check.sides import laterality
from bridge.check.whole import check_whole
from bridge.ear_words import EARS, Ear
from bridge.fhir.systems import SCT
from bridge.issues import Issue, Where, issue
from bridge.moments import later
from bridge.nothing_words import says_nothing
from bridge.numbers import nhs_number_problem
from bridge.phrases import side_words
from bridge.visit import Term, Visit, Work, terms_of

_REMARKS = frozenset({"note", "why", "done", "reason", "whisper", "view", "file"})
"""Fields of running text that belong to one ear."""
_WHOLE_PATH = re.compile(r"[/\\~%$]|[A-Za-z]:|[A-Za-z][A-Za-z0-9+.-]+:/|data:")
"""Begins at a root, a drive, a home folder, a variable or with a scheme."""


def check_visit(visit: Visit) -> list[Issue]:
    """Issues of the client's number, the sides in words, the order of moments, steps left out, and paths of files."""
    found = [
        *check_facts(visit),
        *_steps(visit),
        *_files(visit),
        *check_whole(visit),
        *check_guardians(visit),
        *check_sharing(visit),
        *check_referral_record(visit),
    ]
    return [i.at(record=visit.number) for i in found]


def check_facts(visit: Visit) -> Iterator[Issue]:
    """Those that one field shows beside another, whatever is missing; without the number of the record."""
    yield from _numbers(visit)
    yield from _moments(visit)
    yield from _sides(visit)
    yield from _codes(visit)


def _numbers(visit: Visit) -> Iterator[Issue]:
    number = visit.client.nhs_number
    if number and (problem := nhs_number_problem(number)):
        yield issue("C120", f"The NHS number {problem}.", Where(path="client.nhs_number"))


def _moments(visit: Visit) -> Iterator[Issue]:
    if visit.end and later(visit.start, visit.end):
        yield issue("C123", "The visit ends before it starts.", Where(path="end"))
    if visit.client.birth_date and later(visit.client.birth_date, visit.start):
        yield issue("C124", "The client is born after the visit.", Where(path="client.birth_date"))
    for ear in EARS:
        record = visit.ear(ear)
        for number, event in enumerate(record.history if record else ()):
            if event.date and event.ended and later(event.date, event.ended):
                message = f"An earlier event of the {ear} ear ended before it began."
                yield issue("C146", message, Where(path=f"{ear}.history[{number}].ended"), cause="C146")


def _sides(visit: Visit) -> Iterator[Issue]:
    for ear in EARS:
        record = visit.ear(ear)
        if record is not None:
            for path, words, remark in _texts(record, ear):
                yield from _side(ear, path, words, "C122" if remark else "C121", "" if remark else f" “{words[:60]}”")
    for number, request in enumerate(visit.requests):
        if request.ear:
            yield from _side(request.ear, f"requests[{number}].action", request.action, "C121")
    referral = visit.referral
    if referral and len(referral.ears) == 1:
        ear = referral.ears[0]
        yield from _side(ear, "referral.reason", referral.reason, "C121")
        for name in ("question", "client_told"):
            yield from _side(ear, f"referral.{name}", getattr(referral, name) or "", "C122")


def _codes(visit: Visit) -> Iterator[Issue]:
    """Codes that came with the record and name the other ear."""
    cautions = {f"cautions[{number}].term": caution.ear for number, caution in enumerate(visit.cautions)}
    for path, term in terms_of(visit):
        for coding in term.codings:
            named = laterality().get(coding.code) if coding.system == SCT else None
            ear = (cautions.get(path) or _ear_of(path)) if named else None
            if named and ear and ear not in named:
                told = f"This stands under the {ear} ear, but its code {coding.code} is of the {next(iter(named))}."
                yield issue("M133", told, Where(path=path))


def _ear_of(path: str) -> Ear | None:
    return next((ear for ear in EARS if path.startswith(f"{ear}.")), None)


def _side(ear: Ear, path: str, words: str, rule: str, quoted: str = "") -> Iterator[Issue]:
    """`quoted`: the words of a term; running text is never quoted, since it may name the client."""
    named = side_words(words)
    if named and ear not in named:
        message = f"This stands under the {ear} ear, but its words{quoted} name only the {next(iter(named))}."
        yield issue(rule, message, Where(path=path))


def _texts(value: object, path: str) -> Iterator[tuple[str, str, bool]]:
    """Terms and remarks inside an ear's record: path, words, and whether it is a remark."""
    if isinstance(value, Term):
        yield path, value.text, False
    elif isinstance(value, BaseModel):
        for name in _telling(type(value)):
            inner = getattr(value, name)
            if inner is None or inner == ():
                continue
            if isinstance(inner, str):
                yield f"{path}.{name}", inner, True
            else:
                yield from _texts(inner, f"{path}.{name}")
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _texts(item, f"{path}[{index}]")


@cache
def _telling(model: Hashable) -> tuple[str, ...]:
    """Fields of a part of an ear's record in which a term or a remark can stand, however deep."""
    if not (isinstance(model, type) and issubclass(model, BaseModel)):
        return ()
    fields = model.model_fields.items()
    return tuple(name for name, info in fields if name in _REMARKS or _tells(cast(Hashable, info.annotation)))


@cache
def _tells(annotation: Hashable) -> bool:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation is Term or bool(_telling(annotation))
    return any(_tells(inner) for inner in getattr(annotation, "__args__", ()))


def _steps(visit: Visit) -> Iterator[Issue]:
    worked = [ear for ear in EARS if (record := visit.ear(ear)) and any(map(_was_done, record.work))]
    if worked and (visit.consent is None or visit.consent.status == "withdrawn"):
        told = f", although consent is recorded as {visit.consent.status}" if visit.consent else " without a consent"
        yield issue("C125", f"Work on an ear is recorded{told}.", Where(path="consent"))
    for ear in EARS:
        record = visit.ear(ear)
        if record and record.after and not record.work:
            message = f"The {ear} ear was looked at after the work, but no work on it is recorded."
            yield issue("C126", message, Where(path=f"{ear}.after"))


def _was_done(work: Work) -> bool:
    return not says_nothing("method", work.method.text)


def _files(visit: Visit) -> Iterator[Issue]:
    """The path itself is never quoted: it may name people."""
    for ear in EARS:
        record = visit.ear(ear)
        for number, image in enumerate(record.images if record else ()):
            if _WHOLE_PATH.match(image.file):
                message = "The file of this picture is named by a whole path or an address."
                yield issue("C127", message, Where(path=f"{ear}.images[{number}].file"), cause="C127")
