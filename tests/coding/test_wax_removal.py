"""No document says that wax was removed from an ear whose record says that there was none."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.coding import code_visit, load_term_maps
from bridge.visit import Visit

MAPS = load_term_maps()


def codes(before: dict[str, Any] | None, method: str) -> list[str]:
    ear = {"work": [{"method": method}], **({"before": before} if before else {})}
    client = {"legal_name": {"family": "Rowe"}}
    visit = Visit.model_validate({"number": "V1", "client": client, "start": "2026-05-03", "right": ear})
    coded, _ = code_visit(visit, MAPS)
    assert coded.right is not None
    assert coded.right.work[0].method.text == method
    return [c.code for c in coded.right.work[0].method.codings]


@pytest.mark.parametrize("method", ["microsuction", "forceps"])
@pytest.mark.parametrize("wax", ["none", "no wax", {"percent": 0}])
def test_without_wax_the_own_code_alone(wax: Any, method: str) -> None:
    found = codes({"wax": wax, "contents": ["cotton bud tip"]}, method)
    assert found
    assert "385904005" not in found


@pytest.mark.parametrize("before", [None, {"wax": "heavy"}, {"wax": {"percent": 40}}, {"wax": "not seen (swelling)"}])
def test_with_wax_or_without_a_word_of_it_the_code_of_the_trade(before: dict[str, Any] | None) -> None:
    assert "385904005" in codes(before, "microsuction")
