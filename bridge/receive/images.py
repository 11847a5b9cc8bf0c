"""Pictures of one ear, from Media."""

from __future__ import annotations

from bridge.ear_words import Ear
from bridge.fhir.elements import ear_of
from bridge.fhir.own import first_word
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.values import kept, part_of_visit
from bridge.visit.ear import Image


def images(index: Index, ear: Ear) -> tuple[Image, ...]:
    found = (index.use(m) for m in index.of_type("Media") if ear_of(m.get("bodySite")) == ear)
    return tuple(
        part_of_visit(
            Image,
            kept(
                file=media["content"]["title"],
                stage=first_word("image-stage", media.get("reasonCode", ())),
                view=media.get("view", {}).get("text"),
                taken_at=from_datetime(media["createdDateTime"]) if "createdDateTime" in media else None,
            ),
        )
        for media in found
    )
