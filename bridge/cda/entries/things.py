"""Things in an act: medicines and their batches, allergens, instruments, devices."""

from __future__ import annotations

from typing import Any

from bridge.cda.context import Context
from bridge.cda.entries.act import Act, naming, who
from bridge.cda.entries.concepts import claimed, coded
from bridge.cda.entries.forms import form
from bridge.cda.entries.paths import items, look
from bridge.cda.entries.place import Told, shaped
from bridge.cda.entries.related import related
from bridge.cda.entries.seen import Seen
from bridge.cda.entries.tables import Row
from bridge.cda.oids import template
from bridge.cda.values import cd, concept_of, reference_of, text_of, time_of
from bridge.cda.xml import Node, node, one, typed
from bridge.shapes import Json

CONTAINED = template("contained resource")
"""Root of the id of a medicine that the resource itself holds; its extension is the id in there."""
EXPIRY = "Medication.batch.expirationDate"
_MODEL = {"deviceName.name": "manufacturerModelName", "version.value": "softwareName"}


class Medicine:
    """What was given or taken: a code, the one contained Medication with its batch, or a pointer to another one."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        if "consumable" not in act.parts and (made := self._consumable(row, told)) is not None:
            act.add(made)
            expiry = look(_inside(told.resource), "batch.expirationDate")
            if (until := form("dateTime", expiry)) is not None:
                act.relate("COMP", related(EXPIRY, until))

    def _consumable(self, row: Row, told: Told) -> Node | None:
        value = told.resource.get(row.path)
        if row.path == "medicationCodeableConcept" and isinstance(value, dict):
            return consumable(coded("code", value, told))
        if row.path == "contained" and (inside := _inside(told.resource)):
            code, lot = inside.get("code"), look(inside, "batch.lotNumber")
            id = node("id", root=CONTAINED, extension=str(inside["id"]))
            return consumable(coded("code", code if isinstance(code, dict) else {}, told), id, lot)
        if row.path == "medicationReference" and isinstance(value, dict):
            return consumable(node("code", nullFlavor="NI"), who(value)[0])
        return None

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        product = one(seen.first("consumable"), "manufacturedProduct")
        material, id = one(product, "manufacturedMaterial"), one(product, "id")
        code, held = claimed(one(material, "code")), None
        if id is not None and id.get("root") == CONTAINED:
            held = id.get("extension")
        if row.path == "medicationReference":
            return {"reference": f"#{held}"} if held else reference_of(id)
        if row.path == "medicationCodeableConcept":
            return None if id is not None else code
        if not held:
            return None
        until = [when for act in seen.related[EXPIRY] if (when := time_of(one(act, "value")))]
        lot = text_of(one(material, "lotNumberText"))
        batch = {**({"lotNumber": lot} if lot else {}), **({"expirationDate": until[0]} if until else {})}
        inside = {"resourceType": "Medication", "id": held, **({"code": code} if code else {})}
        return [{**inside, **({"batch": batch} if batch else {})}]


def _inside(resource: Json) -> Json | None:
    """The Medication that the resource holds, if that is all it holds and what it speaks of."""
    held = resource.get("contained")
    inside = held[0] if isinstance(held, list) and len(held) == 1 else None
    if not isinstance(inside, dict) or inside.get("resourceType") != "Medication" or not inside.get("id"):
        return None
    return inside if resource.get("medicationReference") == {"reference": f"#{inside['id']}"} else None


def consumable(code: Node, id: Node | None = None, lot: Any = None) -> Node:
    batch = node("lotNumberText", text=lot) if isinstance(lot, str) else None
    return node("consumable", node("manufacturedProduct", id, node("manufacturedMaterial", code, batch)))


class Allergen:
    """The thing that the client may not tolerate."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        if isinstance(concept := told.at(row), dict):
            thing = node("playingEntity", cd("code", concept), classCode="MMAT")
            act.add(node("participant", node("participantRole", thing, classCode="MANU"), typeCode=row.link))
            act.add(typed(naming(row.type, "value"), "CD"))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return shaped(row, [concept_of(one(role, "playingEntity", "code")) for role in seen.parties[""]])


class Instrument:
    """What it was done with."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        for item in items(told.at(row)):
            if isinstance(item, dict):
                act.add(_device(row.link, node("playingDevice", cd("code", item))))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return shaped(row, [concept_of(one(role, "playingDevice", "code")) for role in seen.parties[""]])


class Model:
    """A device itself: what it is and what it is called, written together."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        if row.path != "type":
            return
        code = cd("code", kind) if isinstance(kind := told.at(row), dict) else None
        named = [(tag, look(told.resource, path)) for path, tag in _MODEL.items()]
        words = [node(tag, text=text) for tag, text in named if isinstance(text, str)]
        act.add(_device(row.link, node("playingDevice", code, *words)))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        devices = [device for role in seen.parties[""] if (device := one(role, "playingDevice")) is not None]
        if row.path == "type":
            return shaped(row, [concept_of(one(device, "code")) for device in devices])
        return next((text for device in devices if (text := text_of(one(device, _MODEL[row.path])))), None)


def _device(link: str, playing: Node) -> Node:
    return node("participant", node("participantRole", playing, classCode="MANU"), typeCode=link)
