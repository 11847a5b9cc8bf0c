"""What somebody changed in a document of ours on its way: made again from the visit that it tells, and compared."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import product
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.beyond_visit import correction_fits, left_behind, red_flags
from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.build.composition import ALERT, CHANGES, KEPT, WORDS_ALONE
from bridge.build.context import Context
from bridge.fhir.ids import Ids
from bridge.fhir.own import word
from bridge.fhir.tell.words import told_in
from bridge.regions import region, region_names
from bridge.same_clinic import folded
from bridge.shapes import Json
from bridge.visit import Clinic, Visit
from bridge.wording.catalogue import languages

_NAMESPACE = UUID(int=0)
"""Whose it was cannot be told from a document, nor matters it: ids and their systems are not compared."""
_ANOTHER = Clinic(name="-")
"""In the place of the practice that wrote it, where that was another one than the visit's."""
_OF_FILING = frozenset({"id", "meta"})
_OWN = re.compile(r"urn:oid:2\.25\.|(?:[a-z-]+/)?[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\Z")
_LOCAL, _DAY = frozenset({"occurrencePeriod.end"}), 10
"""Moments that end with a day of the practice's own time zone."""
_FIRST_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)T00:00:00[+-]\d\d:\d\d")
"""How an instant is written of which the day alone is known."""
_CLOCK = re.compile(r"T\d\d:\d\d(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)\Z")
_ZONES = {f"{sign}{hours:02}:00": f"Etc/GMT{other}{hours}" for sign, other in ("+-", "-+") for hours in range(13)} | {
    "Z": "UTC", "+13:00": "Etc/GMT-13", "+14:00": "Etc/GMT-14", "+05:30": "Asia/Kolkata", "+09:30": "Australia/Darwin",
}  # fmt: skip
"""One for each distance from Greenwich. Which one it was nobody can tell from a document; its days end alike."""
_MOST_ZONES = 3
BUNDLE = -1
"""In the place of the number of an entry: what is around the entries."""

Leaf = tuple[str, str, str]
"""Path, the same without numbers of lists, and value."""


class Differing(NamedTuple):
    """What a resource says otherwise than visit-bridge would."""

    other: list[str]
    """Leaves that it would not write."""
    lacking: list[str]
    """Places, without numbers of lists, in which it would write more."""

    @property
    def size(self) -> int:
        return len(self.other) + len(self.lacking)


def changed(data: Json, visits: Sequence[Visit], kind: str) -> dict[int, Differing]:
    """What visit-bridge would write otherwise for such visits, by the number of the entry that it stands in.

    By whose clock, the rules of which region and with which codes it was made is tried out; what fits best counts.
    """
    best: dict[int, Differing] | None = None
    regions = sorted(region_names(), key=lambda name: name != Options().region)
    own = _ANOTHER if _of_others(data, visits) else None
    for zone, language, rules, licensed in product(_zones(data), _languages(data), regions, (False, True)):
        found = _differing(data, visits, kind, Options(rules, licensed, language, own), zone)
        if best is None or _size(found) < _size(best):
            best = found
        if not best:
            break
    return best or {}


def _size(found: Mapping[int, Differing]) -> tuple[int, int]:
    return len(found), sum(one.size for one in found.values())


def _of_others(data: Json, visits: Sequence[Visit]) -> bool:
    """Whether another practice wrote it than the visit's: its roles are then numbered with the clinic's name."""
    names = {f"/{folded(visit.clinic.name)}" for visit in visits if visit.clinic}
    roles = [r for e in data["entry"] if (r := e.get("resource", {})).get("resourceType") == "PractitionerRole"]
    values = [str(one.get("value")) for role in roles for one in role.get("identifier", ())]
    return any(value.endswith(name) or f"{name}/" in value for value in values for name in names)


def _languages(data: Json) -> Sequence[str]:
    """The one that it says, or all that there are: a collection says none."""
    told = (data.get("language"), *(entry.get("resource", {}).get("language") for entry in data["entry"]))
    said = next((one for one in told if isinstance(one, str)), "").partition("-")[0]
    return [said] if said in languages() else list(languages())


def _zones(data: Json) -> list[ZoneInfo]:
    """Those of the clocks by which its moments are told, the visit's own first."""
    resources = [entry.get("resource", {}) for entry in data["entry"]]
    resources.sort(key=lambda one: one.get("resourceType") != "Encounter")
    found = (_CLOCK.search(value) for one in resources for _, _, value in _leaves(one))
    names = dict.fromkeys(_ZONES.get(clock[1], "UTC") for clock in found if clock)
    return [ZoneInfo(name) for name in names or ("UTC",)][:_MOST_ZONES]


def _again(data: Json, visit: Visit, kind: str, options: Options, zone: ZoneInfo, sections: Mapping[str, Json]) -> Json:
    texts = {key: str(one.get("text", {}).get("div")) for key, one in sections.items()}
    with told_in(options.tag):
        left = left_behind(texts[KEPT], kind) if KEPT in texts else {}
        context = Context(visit, Ids(_NAMESPACE), zone, region(options.region), options.tag)
        alerts = red_flags(texts[ALERT], context, kind) if ALERT in texts else []
    if data.get("type") == "document":
        return build_document(visit, _NAMESPACE, zone, kind, options, alerts, left)
    if any(entry.get("resource", {}).get("resourceType") == "Composition" for entry in data["entry"]):
        return build_transaction(visit, _NAMESPACE, zone, options=options, alerts=alerts)
    return build_collection(visit, _NAMESPACE, zone, options=options)


def _sections(composition: Json) -> dict[str, Json]:
    found = composition.get("section", ()) if composition else ()
    return {key: section for section in found if (key := word("section", section.get("code"))) in WORDS_ALONE}


def _differing(
    data: Json, visits: Sequence[Visit], kind: str, options: Options, zone: ZoneInfo
) -> dict[int, Differing]:
    resources = [entry.get("resource", {}) for entry in data["entry"]]
    composition: Json = next((r for r in resources if r.get("resourceType") == "Composition"), {})
    letter = kind or "summary"
    sections = _sections(composition)
    bundles = [_again(data, visit, letter, options, zone, sections) for visit in visits]
    again = [entry["resource"] for bundle in bundles for entry in bundle["entry"]]
    correction = sections.get(CHANGES)
    if correction and len(visits) == 1:
        with told_in(options.tag):
            fits = correction_fits(str(correction.get("text", {}).get("div")), again, visits[0], letter)
        if fits:
            _take_over(correction, again)
    found = _compared(resources, again)
    around = _around(data, bundles[0]) if len(bundles) == 1 else None
    return {**({BUNDLE: around} if around and around.size else {}), **found}


def _take_over(correction: Json, again: Sequence[Json]) -> None:
    """Lets the letter made again say of the correction what the received one says."""
    for resource in again:
        for section in resource.get("section", ()):
            if word("section", section["code"]) == CHANGES:
                section["text"] = correction["text"]


def _compared(resources: Sequence[Json], again: Sequence[Json]) -> dict[int, Differing]:
    made: dict[tuple[str, ...], list[Counter[tuple[str, str]]]] = {}
    for resource in again:
        made.setdefault(_known_as(resource), []).append(Counter(leaf[1:] for leaf in _leaves(resource)))
    found = {}
    for number, resource in enumerate(resources):
        mine = list(_leaves(resource))
        tried = [_against(mine, one) for one in made.get(_known_as(resource), ())]
        least = min(tried, key=lambda one: one.size, default=Differing([path for path, _, _ in mine], []))
        if least.size:
            found[number] = least
    return found


def _around(data: Json, made: Json) -> Differing:
    """What a document or collection of ours says of itself."""
    told: Json = {key: data[key] for key in ("identifier", "timestamp") if key in data and key in made}
    ours = {key: made[key] for key in told}
    return _against(list(_leaves(told)), Counter(leaf[1:] for leaf in _leaves(ours)))


def _against(mine: Sequence[Leaf], made: Counter[tuple[str, str]]) -> Differing:
    left, other = made.copy(), []
    for path, place, value in mine:
        if left[place, value] > 0:
            left[place, value] -= 1
        else:
            other.append(path)
    return Differing(other, sorted({place for place, _ in left.elements()}))


def _known_as(resource: Json) -> tuple[str, ...]:
    """Type and numbers: those of observations tell what they observe."""
    told = resource.get("identifier", ()) if resource.get("resourceType") != "Patient" else ()
    values = [one.get("value") for one in told if isinstance(one, dict)]
    return (str(resource.get("resourceType")), *sorted(str(v) for v in values if not _made_of_namespace(v)))


def _leaves(resource: Json) -> Iterator[Leaf]:
    waiting: list[tuple[str, str, Any]] = [(k, k, v) for k, v in resource.items() if k not in _OF_FILING]
    while waiting:
        path, place, node = waiting.pop()
        if isinstance(node, dict):
            waiting += [(f"{path}.{k}", f"{place}.{k}", v) for k, v in node.items() if k not in ("id", "reference")]
        elif isinstance(node, list):
            waiting += [(f"{path}[{at}]", place, item) for at, item in enumerate(node)]
        else:
            said = "" if _made_of_namespace(node) else _spelt(node)
            yield path, place, said[:_DAY] if place in _LOCAL or _FIRST_MOMENT.fullmatch(said) else said


def _made_of_namespace(value: Any) -> bool:
    return isinstance(value, str) and bool(_OWN.match(value))


def _spelt(value: Any) -> str:
    if isinstance(value, (str, bool)) or value is None:
        return str(value)
    return str(Decimal(str(value)).normalize())
