"""Every place of `mappings/cda/entries-elements.csv`, by its name there."""

from __future__ import annotations

from bridge.cda.entries.concepts import AnyValue, Code, Concepts, Priority, Value, Words
from bridge.cda.entries.people import Agent, Attendance, Author, Party, Performer
from bridge.cda.entries.place import Place
from bridge.cda.entries.related import FromHeader, Related, Source
from bridge.cda.entries.tables import Row
from bridge.cda.entries.things import Allergen, Instrument, Medicine, Model
from bridge.cda.entries.times import Authored, End, Time

_PLACES: dict[str, Place] = {
    "code": Code(),
    "value": Value(),
    "text": Words(),
    "interpretationCode": Concepts(),
    "methodCode": Concepts(),
    "targetSiteCode": Concepts(),
    "approachSiteCode": Concepts(),
    "routeCode": Concepts(),
    "priorityCode": Priority(),
    "effectiveTime": Time(),
    "effectiveTime/low": End("low"),
    "effectiveTime/high": End("high"),
    "author": Author(),
    "author/time": Authored(),
    "performer": Performer(),
    "party": Party(),
    "agent": Agent("type", "who"),
    "actor": Agent("role", "reference"),
    "attendance": Attendance(),
    "related": Related(),
    "context subject": FromHeader("subject"),
    "context encounter": FromHeader("encounter"),
    "source": Source(),
    "medicine": Medicine(),
    "allergen": Allergen(),
    "instrument": Instrument(),
    "model": Model(),
}
_ANY_VALUE = AnyValue()


def place_of(row: Row) -> Place:
    """Where a row puts its element; a `value` that names no element is value[x] with its reason for being absent."""
    return _ANY_VALUE if row.place == "value" and row.element is None else _PLACES[row.place]
