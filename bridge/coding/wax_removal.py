"""A method is coded as removal of wax only where the record does not say that there was no wax."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS
from bridge.fhir.systems import SCT
from bridge.visit import EarRecord, Term, Visit


def without_wax(visit: Visit) -> Visit:
    """The visit, with methods on an ear that had no wax left to their words and own code."""
    updates: dict[str, EarRecord] = {}
    for ear in EARS:
        record = visit.ear(ear)
        if record is not None and record.work and _clear(record):
            updates[ear] = _plain(record)
    return visit.model_copy(update=updates) if updates else visit


def _clear(record: EarRecord) -> bool:
    wax = record.before.wax if record.before else None
    if wax is None or wax.answer:
        return False
    said_none = wax.amount is not None and any(c.code == "wax-none" for c in wax.amount.codings)
    return said_none or (wax.amount is None and wax.percent == 0)


def _plain(record: EarRecord) -> EarRecord:
    work = tuple(w.model_copy(update={"method": _without_codes(w.method)}) for w in record.work)
    return record.model_copy(update={"work": work})


def _without_codes(method: Term) -> Term:
    kept = tuple(c for c in method.codings if c.system != SCT or c.code not in _codes())
    return method.model_copy(update={"codings": kept})


@cache
def _codes() -> frozenset[str]:
    return frozenset(row["code"] for row in load_csv(table_path("codes-of-wax-removal.csv")))
