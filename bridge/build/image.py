"""Media: that a picture was taken and which file holds it. The picture itself stays where it is."""

from __future__ import annotations

from bridge.build.context import Context
from bridge.ear_words import EARS, Ear
from bridge.fhir.elements import ear_site
from bridge.fhir.own import fixed
from bridge.fhir.times import to_datetime
from bridge.visit.ear import Image


def build_images(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for index, image in enumerate(record.images if record else ()):
            _image(context, image, ear, index)


def _image(context: Context, image: Image, ear: Ear, index: int) -> None:
    """R4 has no stage of a visit here, so it stands as the reason why the picture was taken."""
    context.make(
        "image",
        "Media",
        (ear, "image", index),
        {
            "identifier": context.fact_identifier(ear, "image", index),
            "status": "completed",
            **({"view": {"text": image.view}} if image.view else {}),
            "subject": context.patient,
            "encounter": context.encounter,
            **({"createdDateTime": to_datetime(image.taken_at)} if image.taken_at else {}),
            **({"reasonCode": [fixed("image-stage", image.stage)]} if image.stage else {}),
            "bodySite": ear_site(ear),
            "content": {"title": image.file},
        },
        ear=ear,
    )
