"""The files of the new folder, with a page that says what they are and what was done."""

from __future__ import annotations

import textwrap
from typing import Literal

from bridge.build import build_collection
from bridge.deidentified.told import CAUTION, Deidentified, rare
from bridge.deidentify import Keyed, Wishes
from bridge.fhir.write_json import dumps
from bridge.parcel import Piece
from bridge.pipeline import Converter
from bridge.visit import Visit
from bridge.visit_file import visit_file

Form = Literal["yaml", "ndjson", "bundles"]
NOTES = ("Made by visit-bridge: pseudonymised, its dates and words changed. Not a record to treat anybody by.",)


def written(result: Deidentified, form: Form, converter: Converter, key: bytes, wishes: Wishes) -> list[Piece]:
    """The files of the new folder, without anything that was not made here."""
    if form == "ndjson":
        lines = [v.model_dump_json(exclude_defaults=True) for v in result.visits]
        pieces = [Piece("visits.ndjson", "application/x-ndjson", "".join(f"{line}\n" for line in lines).encode())]
    elif form == "bundles":
        namespace = Keyed(key, wishes.purpose).namespace()
        pieces = [
            Piece(
                f"visits/{_stem(visit)}.bundle.json",
                "application/fhir+json",
                dumps(build_collection(visit, namespace, converter.zone, options=converter.options)),
            )
            for visit in result.visits
        ]
    else:
        pieces = [
            Piece(f"visits/{_stem(visit)}.yaml", "application/yaml", visit_file(visit, NOTES))
            for visit in result.visits
        ]
    return [*pieces, Piece("read-me-first.txt", "text/plain", _page(result, wishes).encode())]


def _page(result: Deidentified, wishes: Wishes) -> str:
    dates = {
        "shift": "All dates of a client were moved into the past by one number of whole weeks; intervals are true, "
        "days are not. Times are the clock's at one offset.",
        "year": "Of all dates the year alone was kept.",
    }[wishes.dates]
    text = "Free text was kept on request; names may stand in it." if wishes.with_text else "Free text was left out."
    parts = [
        f"{len(result.visits)} visits of {result.clients} clients, for {wishes.purpose}.",
        CAUTION,
        f"{dates} {text} Names, numbers, addresses, telephones, images, lots and batches were left out; numbers of "
        "visits, clients and practitioners are pseudonyms. A word that no table knows was replaced by “redacted”.",
        *(rare(cells, wishes.small) for cells in result.cells),
        "Never treat anybody by these records.",
    ]
    return "\n\n".join(textwrap.fill(part, 100) for part in parts) + "\n"


def _stem(visit: Visit) -> str:
    return visit.number if visit.version == 1 else f"{visit.number}.v{visit.version}"
