"""What somebody changed in a document of ours on its way: made again from the visit that it tells, and compared."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice, product
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.beyond_visit import correction_fits, left_behind, red_flags
from bridge.build import Options, build_collection, build_document
from bridge.build.composition import ALERT, CHANGES, KEPT, WORDS_ALONE
from bridge.build.context import Context
from bridge.fhir.ids import Ids
from bridge.fhir.letter_kind import letter_kind
from bridge.fhir.own import word
from bridge.fhir.tell.words import told_in
from bridge.leaf_by_leaf import Differing, around, compared, leaves
from bridge.receive.apart import Addresses, visits_apart
from bridge.regions import region, region_names
from bridge.same_clinic import folded
from bridge.shapes import Json
from bridge.visit import Clinic, Visit
from bridge.wording.catalogue import languages

_NAMESPACE = UUID(int=0)
"""Whose it was cannot be told from a document, nor matters it: ids and their systems are not compared."""
_ANOTHER = Clinic(name="-")
"""In the place of the practice that wrote it, where that was another one than the visit's."""
_CLOCK = re.compile(r"T\d\d:\d\d(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)\Z")
_ZONES = {f"{sign}{hours:02}:00": f"Etc/GMT{other}{hours}" for sign, other in ("+-", "-+") for hours in range(13)} | {
    "Z": "UTC", "+13:00": "Etc/GMT-13", "+14:00": "Etc/GMT-14", "+05:30": "Asia/Kolkata", "+09:30": "Australia/Darwin",
}  # fmt: skip
"""One for each distance from Greenwich. Which one it was nobody can tell from a document; its days end alike."""
_MOST_ZONES = 3
_MOST_TRIES = 500
"""Of one bundle: after that what fitted the visit before is taken."""
BUNDLE = -1
"""In the place of the number of an entry: what is around the entries."""

Way = tuple[Options, ZoneInfo]
"""By whose rules and clock a visit may have been written."""


def changed(data: Json, visits: Sequence[Visit], kind: str) -> dict[int, Differing]:
    """What visit-bridge would write otherwise for such visits, by the number of the entry that it stands in.

    `visits`: those of the bundle, in its order. By whose clock, the rules of which region and with which codes each was
    written is tried out; what fits best counts.
    """
    numbers = {id(entry.get("resource")): number for number, entry in enumerate(data["entry"])}
    best: dict[int, Differing] = {}
    fitted: Way | None = None
    tries = _MOST_TRIES
    for visit, belonging in zip(visits, visits_apart(data, Addresses(data)), strict=True):
        mine = {numbers[id(resource)]: resource for resource in belonging}
        least: dict[int, Differing] | None = None
        ways = chain((fitted,) if fitted else (), _ways(data, visit, mine))
        for way in islice(ways, max(tries, 1)):
            tries -= 1
            found = _differing(data, visit, kind, mine, *way)
            if least is None or _size(found) < _size(least):
                least, fitted = found, way
            if not least:
                break
        for number in mine:  # what several visits share has to agree with one of them
            differing = (least or {}).get(number, _SAME)
            best[number] = min(best.get(number, differing), differing, key=lambda one: one.size)
        best |= {BUNDLE: least[BUNDLE]} if len(visits) == 1 and least and BUNDLE in least else {}
    return {number: differing for number, differing in best.items() if differing.size}


_SAME = Differing([], [])


def _size(found: Mapping[int, Differing]) -> tuple[int, int]:
    return len(found), sum(one.size for one in found.values())


def _ways(data: Json, visit: Visit, mine: Mapping[int, Json]) -> Iterator[Way]:
    """Every way in which it may have been written, the most likely first."""
    own = _ANOTHER if _of_others(visit, mine.values()) else None
    regions = sorted(region_names(), key=lambda name: name != Options().region)
    clocks, tongues = _zones(mine.values()), _languages(data, mine.values())
    for zone, language, rules, licensed in product(clocks, tongues, regions, (False, True)):
        yield Options(rules, licensed, language, own), zone


def _of_others(visit: Visit, mine: Iterable[Json]) -> bool:
    """Whether another practice wrote it than the visit's: its roles are then numbered with the clinic's name."""
    if visit.clinic is None:
        return False
    name = f"/{folded(visit.clinic.name)}"
    roles = (one for one in mine if one["resourceType"] == "PractitionerRole")
    values = [str(one.get("value")) for role in roles for one in role.get("identifier", ())]
    return any(value.endswith(name) or f"{name}/" in value for value in values)


def _languages(data: Json, mine: Iterable[Json]) -> Sequence[str]:
    """The one that it says, or all that there are: a collection says none."""
    told = (data.get("language"), *(one.get("language") for one in mine))
    said = next((one for one in told if isinstance(one, str)), "").partition("-")[0]
    return [said] if said in languages() else list(languages())


def _zones(mine: Iterable[Json]) -> list[ZoneInfo]:
    """Those of the clocks by which its moments are told, the visit's own first."""
    resources = sorted(mine, key=lambda one: bool(one["resourceType"] != "Encounter"))
    found = (_CLOCK.search(value) for one in resources for _, _, value in leaves(one))
    names = dict.fromkeys(_ZONES.get(clock[1], "UTC") for clock in found if clock)
    return [ZoneInfo(name) for name in names or ("UTC",)][:_MOST_ZONES]


def _again(visit: Visit, kind: str, way: Way, composition: Json) -> Json:
    (options, zone), texts = way, {key: _said(one) for key, one in _sections(composition).items()}
    with told_in(options.tag):
        left = left_behind(texts[KEPT], kind) if KEPT in texts else {}
        context = Context(visit, Ids(_NAMESPACE), zone, region(options.region), options.tag)
        alerts = red_flags(texts[ALERT], context, kind) if ALERT in texts else []
    if composition:  # a transaction holds the same, under other addresses
        return build_document(visit, _NAMESPACE, zone, kind, options, alerts, left)
    return build_collection(visit, _NAMESPACE, zone, options=options)


def _sections(composition: Json) -> dict[str, Json]:
    found = composition.get("section", ())
    return {key: section for section in found if (key := word("section", section.get("code"))) in WORDS_ALONE}


def _said(section: Json) -> str:
    return str(section.get("text", {}).get("div"))


def _differing(
    data: Json, visit: Visit, kind: str, mine: Mapping[int, Json], options: Options, zone: ZoneInfo
) -> dict[int, Differing]:
    composition: Json = next((one for one in mine.values() if one["resourceType"] == "Composition"), {})
    kind = kind or letter_kind(composition) or "summary"
    made = _again(visit, kind, (options, zone), composition)
    again = [entry["resource"] for entry in made["entry"]]
    if correction := _sections(composition).get(CHANGES):
        with told_in(options.tag):
            if correction_fits(_said(correction), again, visit, kind):
                _take_over(correction, again)
    found = compared(mine, Addresses(data).find, again, Addresses(made).find)
    outside = around(data, made) if data.get("type") == made["type"] else _SAME
    return {**({BUNDLE: outside} if outside.size else {}), **found}


def _take_over(correction: Json, again: Sequence[Json]) -> None:
    """Lets the letter made again say of the correction what the received one says."""
    for resource in again:
        for section in resource.get("section", ()):
            if word("section", section["code"]) == CHANGES:
                section["text"] = correction["text"]
