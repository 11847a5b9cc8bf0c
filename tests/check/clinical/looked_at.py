"""Generated visits as the program sees them: read, coded, and held against every clinical rule."""

from __future__ import annotations

import os
from functools import cache
from typing import Any

from bridge.check.clinical import ClinicalRule, judge, load_rules
from bridge.check.clinical.flags import Looked, look
from bridge.check.referral import check_referral
from bridge.check.visit import check_visit
from bridge.coding import code_visit, load_term_maps
from bridge.visit import Visit

MANY = os.environ.get("VISIT_BRIDGE_MANY")
"""How many are made by hand; a run of all tests makes fewer."""


@cache
def rules() -> tuple[ClinicalRule, ...]:
    return load_rules("uk")


def read(data: dict[str, Any]) -> Visit:
    """The coded visit; words that the tables do not know are left as they are."""
    return code_visit(Visit.model_validate(data), load_term_maps())[0]


def told(data: dict[str, Any]) -> Looked:
    return look(read(data), rules())


def noticed_in(data: dict[str, Any], asked: bool) -> set[str]:
    """The codes of what fires, and with `asked` of what asks and matters: clinical rules, and the checks of the record
    and of its referral that there were before them."""
    visit = read(data)
    found = judge(visit, rules())
    record = {i.rule for i in (*check_visit(visit), *check_referral(visit))}
    return record | {one.rule.code for one in found if one.verdict == "fires" or (asked and one.matters)}
