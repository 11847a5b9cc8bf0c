"""A hearing aid from its Device and DeviceUseStatement, or from the Observation that says there is none."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import Ear
from bridge.fhir.elements import ear_of, term
from bridge.fhir.own import word
from bridge.receive.index import Index
from bridge.receive.values import asserted, kept, note_of, part_of_visit, word_in
from bridge.visit.ear import HearingAid

Json = dict[str, Any]


def hearing_aid(index: Index, ear: Ear) -> HearingAid | None:
    for statement in index.of_type("DeviceUseStatement"):
        if ear_of(statement.get("bodySite")) == ear:
            index.use(statement)
            kind = (index.at(statement["device"]) or {})["type"]
            return part_of_visit(
                HearingAid,
                kept(
                    style=None if word("hearing-aid", kind) else term(kind),
                    uses=statement["status"] == "active",
                    note=note_of(statement),
                ),
            )
    observation = index.observation("hearing-aid-none", ear=ear)
    return _none(observation) if observation else None


def _none(observation: Json) -> HearingAid:
    plain = word("hearing-aid", observation["valueCodeableConcept"])
    unused = "not used" in (plain, word_in(observation, "hearing-aid-use", "hearing-aid"))
    style = None if plain else asserted(observation)
    if style and style.assertion == "present":
        style = style.model_copy(update={"assertion": None})
    return part_of_visit(HearingAid, kept(style=style, uses=not unused, note=note_of(observation)))
