"""The last full view of each drum, with its picture, and the last hearing thresholds: what later looks compare with."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.fhir.tell.by_ear import lines, pair, stage
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.tell.words import day
from bridge.render.audiogram import audiograms
from bridge.render.drawing import drawings
from bridge.render.handover.told import PictureTold, VisitTold
from bridge.render.page import Block, Line, Lines, Picture, Pictures, Section, Text
from bridge.visit.ear import Examination
from bridge.wording import say


def baseline(visits: list[VisitTold], pictures: list[PictureTold]) -> Section:
    blocks: list[Block] = []
    drawn: list[Picture] = []
    for ear in EARS:
        title = say(f"group.{ear}")
        found = _last(visits, ear, full=True)
        partial = None if found else _last(visits, ear, full=False)
        told = [] if found else [Line("", say("handover.baseline.no-full"))]
        for chosen, key in ((found, "full"), (partial, "partly")):
            if chosen:
                visit, when = chosen
                head = say(f"handover.baseline.{key}", day=day(visit.visit.start), visit=visit.visit.number)
                told += [Line("", head), *_drum(visit, ear, when)]
                drawn += _drawing(visit, ear, when)
        blocks.append(Lines(told, title))
        held = [p for p in pictures if p.ear == ear]
        blocks.append(Lines(_held(held), say(f"handover.pictures.{ear}")))
    blocks += [Pictures(drawn)] if drawn else []
    blocks += _thresholds(visits)
    return Section("baseline", say("handover.baseline.title"), blocks)


def _held(pictures: list[PictureTold]) -> list[Line]:
    """Each picture by its file, newest last; that the record names none; that one is not there."""
    if not pictures:
        return [Line("", say("handover.pictures.none"))]
    return [Line(p.name or p.recorded, _of(p)) for p in pictures]


def _of(picture: PictureTold) -> str:
    """`of visit V1, before the work; named by the record, and not in this parcel`"""
    said = say("handover.pictures.of", visit=picture.visit)
    said += f", {say(f'handover.pictures.stage.{picture.stage}')}" if picture.stage else ""
    return said if picture.name else f"{said}; {say('handover.pictures.missing')}"


def _last(visits: list[VisitTold], ear: Ear, *, full: bool) -> tuple[VisitTold, Stage] | None:
    """The newest look at the drum; `full`: the newest that saw all of it."""
    for told in reversed(visits):
        record = told.visit.ear(ear)
        for when in reversed(STAGES):
            look = getattr(record, when) if record else None
            if look is not None and look.drum is not None and (_seen_whole(look) if full else True):
                return told, when
    return None


def _seen_whole(look: Examination) -> bool:
    """Whether the record says that the whole drum was seen; silence about it is no full view."""
    drum = look.drum
    if drum is None or drum.answer in ("not seen", "not examined"):
        return False
    if drum.seen is not None:
        return drum.seen == "whole"
    told = drum.answer == "normal" or bool(drum.findings)
    return told and look.view is not None and look.view.achieved == "full"


def _drum(told: VisitTold, ear: Ear, when: Stage) -> Iterator[Line]:
    facts = told.entries.by_ear[ear]
    about = [
        f for f in facts if f["resourceType"] == "Observation" and stage(f) == when and kind_of(f).startswith("drum-")
    ]
    yield from (Line(line.subject, line.words) for line in lines(map(pair, about)))


def _drawing(told: VisitTold, ear: Ear, when: Stage) -> list[Picture]:
    """A look without any work on that ear at that visit was before none."""
    title = say(f"drawing.title.{ear}.{when}")
    record = told.visit.ear(ear)
    known = title if record and record.work else say(f"group.{ear}")
    found = [picture for picture in drawings(told.entries) if picture.title == title]
    for picture in found:
        picture.title = say("handover.baseline.drawing", title=known, day=day(told.visit.start))
        picture.alt = picture.alt.replace(title, known, 1)
    return found


def _thresholds(visits: list[VisitTold]) -> Iterator[Block]:
    """Of each ear the newest visit that has some; both ears of such a visit are told."""
    chosen: dict[str, VisitTold] = {}
    for ear in EARS:
        for told in reversed(visits):
            record = told.visit.ear(ear)
            tests = (record.hearing_before, record.hearing_after) if record else ()
            if any(test and test.thresholds for test in tests):
                chosen.setdefault(told.visit.number, told)
                break
    if not chosen:
        yield Lines([Line("", say("handover.thresholds.none"))], say("handover.thresholds.title"))
    for told in chosen.values():
        yield Text(say("handover.thresholds.of", day=day(told.visit.start), visit=told.visit.number), "strong")
        found = audiograms(told.entries)
        charts = [one for one in found if isinstance(one, Picture)]
        yield from ([Pictures(charts)] if charts else [])
        yield from (one for one in found if not isinstance(one, Picture))
