"""What worked on each ear and what did not: method, tube, vacuum, softener, position, and how it was borne."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.ear_words import EARS, Ear
from bridge.fhir.systems import OWN
from bridge.fhir.tell.words import day
from bridge.render.handover.terms import measured, said_of, sized
from bridge.render.handover.told import VisitTold
from bridge.render.page import Block, Grid, Line, Lines, Section, Text
from bridge.visit import Visit
from bridge.visit.ear import Product, Work
from bridge.wording import say

COMPLETE = "outcome-complete"
COLUMNS = ("visit", "method", "instruments", "settings", "products", "outcome", "borne", "notes")


def worked(visits: list[VisitTold]) -> Section:
    """Newest first. A cell without words says that nothing is recorded."""
    found = [(told.visit, ear, work) for told in reversed(visits) for ear in EARS for work in _work(told.visit, ear)]
    blocks: list[Block] = []
    for key, mine in (
        ("worked", [f for f in found if _complete(f[2])]),
        ("other", [f for f in found if not _complete(f[2])]),
    ):
        blocks.append(Text(say(f"handover.work.{key}"), "strong"))
        if mine:
            rows = [[cell or say("handover.cell.not-recorded") for cell in _row(*one)] for one in mine]
            blocks.append(Grid([say(f"handover.work.column.{c}") for c in COLUMNS], rows))
        else:
            blocks.append(Text(say(f"handover.work.{key}.none"), "quiet"))
    blocks.append(Text(say("handover.work.drops"), "strong"))
    blocks.append(Lines(list(_drops(visits)) or [Line("", say("handover.work.drops.none"))]))
    blocks.append(Text(say("handover.work.position"), "caution"))
    return Section("worked", say("handover.work.title"), blocks)


def _drops(visits: list[VisitTold]) -> Iterator[Line]:
    """Softeners and drops of each visit, newest first, whatever work was done; what reacted to them stands among the
    events and the hazards."""
    for told in reversed(visits):
        visit = told.visit
        used: list[tuple[Product, str]] = [(s, s.when or "used before") for s in visit.softeners]
        used += [(p, p.when or "") for ear in EARS for work in _work(visit, ear) for p in work.products]
        title = say("handover.visit.short", day=day(visit.start), visit=visit.number)
        for product, when in dict.fromkeys(used):
            said = say(f"handover.drops.{when.replace(' ', '-')}") if when else ""
            yield Line(title, ", ".join(filter(None, (_product(product), said))))


def _work(visit: Visit, ear: Ear) -> tuple[Work, ...]:
    record = visit.ear(ear)
    return record.work if record else ()


def _complete(work: Work) -> bool:
    return bool(work.outcome and any(c.system == OWN and c.code == COMPLETE for c in work.outcome.codings))


def _row(visit: Visit, ear: Ear, work: Work) -> Iterator[str]:
    yield say("handover.work.of", ear=say(f"group.{ear}"), day=day(visit.start), visit=visit.number)
    yield said_of(work.method)
    yield "; ".join(" ".join(filter(None, (said_of(i.name), sized(i.size)))) for i in work.instruments)
    yield "; ".join(_settings(work))
    before = [say("handover.work.softener", words=_product(softener)) for softener in visit.softeners]
    yield "; ".join([*map(_product, work.products), *before])
    reason = f" ({said_of(work.outcome_reason)})" if work.outcome_reason else ""
    yield said_of(work.outcome) + reason if work.outcome else ""
    yield "; ".join(_borne(work))
    yield "; ".join(filter(None, (work.why, work.note)))


def _product(product: Product) -> str:
    return " ".join(filter(None, (said_of(product.name), product.strength, product.dose, product.note)))


def _settings(work: Work) -> Iterator[str]:
    if work.suction:
        pressure = measured(work.suction.pressure)
        taken = say(f"handover.suction.{work.suction.taken}") if work.suction.taken else ""
        yield say("handover.suction", value=" ".join(filter(None, (pressure, taken, measured(work.suction.time)))))
    if work.irrigation:
        told = [measured(work.irrigation.temperature), measured(work.irrigation.pressure),
                measured(work.irrigation.volume), work.irrigation.tip]  # fmt: skip
        yield say("handover.irrigation", value=", ".join(filter(None, told)))
    if work.attempts is not None:
        yield say("handover.attempts", number=work.attempts)
    if work.duration:
        yield measured(work.duration)


def _borne(work: Work) -> Iterator[str]:
    if work.tolerance:
        yield said_of(work.tolerance)
    if work.pain_peak is not None:
        yield say("handover.pain", value=work.pain_peak)
    for event in work.events:
        said = f" [{say('handover.said.absent')}]" if event.term.assertion == "absent" else ""
        severity = say(f"handover.severity.{event.severity}") if event.severity else ""
        told = ", ".join(filter(None, (said_of(event.term) + said, severity)))
        yield f"{told}: {event.done}" if event.done else told
