"""Why something is not there: the reasons of FHIR and the null flavours of CDA, by `mappings/cda/null-flavors.csv`.

The reason itself always travels beside the flavour, so that no two answers become one.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.fhir.systems import system


@cache
def _flavors() -> dict[tuple[str, str], str]:
    rows = load_csv(table_path("cda", "null-flavors.csv"))
    return {(system(row["system"]), row["code"]): row["flavor"] for row in rows}


def flavor_of(concept: Any) -> str | None:
    """The null flavour of a reason (dataAbsentReason, emptyReason) by its first coding that the table has.

    None for a reason that is an answer, such as "none known"; NI for one that the table does not have.
    """
    codings = concept.get("coding") if isinstance(concept, dict) else None
    for coding in codings if isinstance(codings, list) else ():
        key = (str(coding.get("system")), str(coding.get("code"))) if isinstance(coding, dict) else ("", "")
        if key in _flavors():
            return _flavors()[key] or None
    return "NI"
