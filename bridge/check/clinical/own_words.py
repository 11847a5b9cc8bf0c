"""Our own word for a meaning that a record states. What the record calls it may be anything, and is told to nobody."""

from __future__ import annotations

from functools import cache

from bridge.check.clinical.fields import Stated
from bridge.fhir.systems import OWN
from bridge.phrases.vocabulary import shipped_rows


def own_word(one: Stated, means: frozenset[str]) -> str:
    """The label of the finest of its codings that means one of these."""
    known = (c.code for c in reversed(one.term.codings) if c.system == OWN and c.code in means)
    return next((_labels().get(code, "") for code in known), "")


@cache
def _labels() -> dict[str, str]:
    return {row["concept"]: row["label"] for _, row in reversed(shipped_rows())}
