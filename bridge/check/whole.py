"""C: whether a record is whole enough to be sent, and of one mind with itself. It asks; it never decides."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, STAGES
from bridge.issues import Issue, Where, issue
from bridge.nothing_words import says_nothing
from bridge.visit import EarRecord, Examination, Term, Visit


def check_whole(visit: Visit) -> Iterator[Issue]:
    """What a reader of the letter would miss at once, and what cannot both be true."""
    yield from _identity(visit)
    yield from _attendance(visit)
    yield from _refused(visit)
    for ear in EARS:
        record = visit.ear(ear)
        for number, work in enumerate(record.work if record else ()):
            if work.outcome is None and not says_nothing("method", work.method.text):
                message = f"Work on the {ear} ear has no outcome."
                yield issue("C143", message, Where(path=f"{ear}.work[{number}].outcome"), cause="C143")
        for stage in STAGES:
            examination = getattr(record, stage) if record else None
            if examination:
                yield from _contradictions(examination, f"{ear}.{stage}")


def _identity(visit: Visit) -> Iterator[Issue]:
    missing = []
    if not visit.client.legal_name.family:
        missing.append(("family name", "client.legal_name.family"))
    if not visit.client.birth_date:
        missing.append(("birth date", "client.birth_date"))
    if missing:
        named = " and ".join(name for name, _ in missing)
        yield issue("C140", f"The client has no {named}.", Where(path=missing[0][1]), cause=f"C140:{named}")


def _attendance(visit: Visit) -> Iterator[Issue]:
    seen = [ear for ear in EARS if (record := visit.ear(ear)) and _examined(record)]
    if visit.attendance == "attended":
        if not any(record and record.model_fields_set - {"note"} for record in (visit.right, visit.left)):
            message = "Nothing is recorded of either ear beside a note; the visit is told as attended."
            yield issue("C142", message, Where(path="right"), cause="C142")
            path = _says_absent(visit)
            if not path and _says_nothing_of_it(visit):
                message = "Nothing is recorded of the visit, and whether the client came is not recorded either."
                yield issue("C155", message, Where(path="attendance"), cause="C155")
            if path:
                message = "The record speaks of a client who did not come or was not seen, and no attendance says so."
                yield issue("C155", message, Where(path=path), cause="C155")
            return
        for ear in EARS:
            record = visit.ear(ear)
            if record and record.model_fields_set <= {"note"}:
                message = f"Nothing is recorded of the {ear} ear beside a note."
                yield issue("C142", message, Where(path=f"{ear}.note"), cause="C142:ear")
    elif seen:
        message = f"The record says “{visit.attendance}”, and holds what was seen or done."
        yield issue("C141", message, Where(path="attendance"), cause="C141")


def _says_nothing_of_it(visit: Visit) -> bool:
    """Whether the record holds no word of what happened, and none of whether the client came."""
    told = (visit.note, visit.right, visit.left, visit.advice, visit.follow_up, visit.requests, visit.referral)
    return "attendance" not in visit.model_fields_set and not any(told)


def _says_absent(visit: Visit) -> str:
    """The field whose words may say that the client did not come; empty where none does."""
    texts = [("note", visit.note), *((f"{ear}.note", r.note) for ear in EARS if (r := visit.ear(ear)))]
    texts += [(f"reasons[{index}]", reason.text) for index, reason in enumerate(visit.reasons)]
    return next((path for path, text in texts if text and _absent().search(text.replace("’", "'"))), "")


@cache
def _absent() -> re.Pattern[str]:
    rows = list(load_csv(table_path("words", "not-attended.csv")))
    exact = "|".join(re.escape(row["word"]) for row in rows if row["matched"] == "exact")
    fold = "|".join(re.escape(row["word"]) for row in rows if row["matched"] == "fold")
    return re.compile(rf"\b(?:{exact}|(?i:{fold}))\b")


def _examined(record: EarRecord) -> bool:
    looks = [look for look in (record.before, record.after) if look and not (look.view and look.view.answer)]
    return bool(looks or record.work)


def _refused(visit: Visit) -> Iterator[Issue]:
    """Refused beforehand; withdrawn may be during the work, which is no contradiction."""
    done = [ear for ear in EARS if (record := visit.ear(ear)) and record.work]
    if done and visit.consent is not None and visit.consent.status == "refused":
        message = "Work on an ear is recorded, and consent to treatment is recorded as refused."
        yield issue("C144", message, Where(path="consent.status"), cause="C144")


def _contradictions(look: Examination, path: str) -> Iterator[Issue]:
    wax = look.wax
    if wax and _says(wax.amount, "wax-none") and (wax.percent or wax.consistency or wax.colour):
        message = "Wax is recorded as none, and is described."
        yield issue("C145", message, Where(path=f"{path}.wax.amount"), cause="C145:wax")
    if look.view and look.view.achieved == "none":
        for name in ("canal", "drum"):
            part = getattr(look, name)
            stated = part and any(f.term.assertion == "present" for f in part.findings)
            if part and (part.answer == "normal" or stated):
                message = f"The ear could not be seen, and the {name} is described."
                yield issue("C145", message, Where(path=f"{path}.{name}"), cause=f"C145:{name}")


def _says(term: Term | None, code: str) -> bool:
    return term is not None and any(c.code == code for c in term.codings)
