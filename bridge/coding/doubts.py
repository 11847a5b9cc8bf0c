"""Coded words that cannot be so beside what stands next to them: work not done with an outcome, 1% of heavy wax."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from bridge.coding.unknown import cut
from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, STAGES
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where, issue
from bridge.nothing_words import answer_of
from bridge.visit import Term, Visit


def doubts(visit: Visit) -> Iterator[Issue]:
    """Issues of a coded visit, each at its field."""
    for index, caution in enumerate(visit.cautions):
        if caution.ear is None and _own(caution.term) == "caution-only-hearing-ear":
            told = f"“{cut(caution.term.text)}” does not say which ear it is."
            where = Where(path=f"cautions[{index}]", record=visit.number)
            yield issue("M113", told, where, cause="only-hearing-ear")
    for ear in EARS:
        record = visit.ear(ear)
        for index, work in enumerate(record.work if record else ()):
            nothing = answer_of("method", work.method.text)
            if nothing and (work.outcome or nothing == "ask") and _own(work.outcome) not in _not_done():
                beside = f" beside the outcome “{cut(work.outcome.text)}”" if work.outcome else ""
                told = f"“{cut(work.method.text)}” stands as the method{beside}: it is not clear whether this was done."
                where = Where(path=f"{ear}.work[{index}].method", record=visit.number)
                yield issue("M107", told, where, cause=f"method:{work.method.text.casefold()}")
        for stage in STAGES:
            seen = getattr(record, stage) if record else None
            for index, finding in enumerate(seen.drum.findings if seen and seen.drum else ()):
                if _own(finding.term) == "drum-not-intact":
                    told = (
                        f"“{cut(finding.term.text)}” does not say in which way the drum is not intact; no code says it."
                    )
                    where = Where(path=f"{ear}.{stage}.drum.findings[{index}].term", record=visit.number)
                    yield issue("M111", told, where, cause="drum-not-intact")
            wax = seen.wax if seen else None
            if wax and wax.amount and wax.percent is not None and wax.percent < _least().get(_own(wax.amount), 0):
                told = f"{wax.percent}% stands beside “{cut(wax.amount.text)}”; 100% saved by a spreadsheet is 1."
                where = Where(path=f"{ear}.{stage}.wax.percent", record=visit.number)
                yield issue("M110", told, where, cause=f"wax-percent:{wax.percent}")


def _own(term: Term | None) -> str:
    return next((c.code for c in term.codings if c.system == OWN), "") if term else ""


@cache
def _not_done() -> frozenset[str]:
    rows = load_csv(table_path("procedure-status.csv"))
    return frozenset(row["concept"] for row in rows if row["status"] == "not-done")


@cache
def _least() -> dict[str, int]:
    return {row["concept"]: int(row["least"]) for row in load_csv(table_path("wax-percent.csv"))}
