"""Words that say that there is nothing: `none` among cautions is no caution."""

from __future__ import annotations

from bridge.fhir.elements import concept
from bridge.fhir.own import own_code
from bridge.visit import Term

NONE = "-none"
"""Ending of the term maps' concepts that stand for nothing of their kind (`caution-none`)."""


def says_none(term: Term) -> bool:
    return (own_code(concept(term)) or "").endswith(NONE)
