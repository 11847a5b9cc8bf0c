"""An invented visit with a whole referral, for the tests of the letter, of what it may lack and of its page."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from bridge.coding import code_visit, load_term_maps
from bridge.visit import Visit

Raw = dict[str, Any]

SUDDEN: Raw = {
    "number": "M26-0201",
    "clinic": {"name": "Millbrook Ear Care", "phone": "01632 960111"},
    "practitioners": [
        {"key": "PS", "name": {"given": ["Petra"], "family": "Sandholt"}, "role": "Ear-care nurse", "no_register": True}
    ],
    "client": {
        "number": "C-1101",
        "legal_name": {"given": ["Tobias"], "family": "Larkfell"},
        "birth_date": "1968-02-08",
        "phones": ["07700 900311"],
    },
    "family_doctor": {"practice": "Hill Surgery"},
    "start": "2026-05-26T11:30+01:00",
    "reasons": ["sudden hearing loss"],
    "allergies": "none known",
    "medicines": [{"name": "apixaban"}],
    "cautions": ["anticoagulant"],
    "access_needs": ["lip-reads"],
    "consent": {"status": "given"},
    "sharing": {"status": "given", "scope": ["visit summary", "referral"]},
    "right": {"before": {"view": "full", "wax": "none", "canal": "normal", "drum": "normal"}},
    "left": {
        "symptoms": [
            {"term": "sudden hearing loss", "onset": "2026-05-25", "developed_over": {"value": 1, "unit": "d"}}
        ],
        "before": {"view": "full", "wax": "minimal", "canal": "normal", "drum": "normal"},
        "work": [{"method": "none"}],
    },
    "advice": [{"term": "go to A&E", "safety_net": True}],
    "no_request": True,
    "referral": {
        "to": "ENT",
        "recipient": {
            "key": "OV",
            "name": "Overby ear clinic",
            "person": "Dr Isolde Penhallow",
            "address": {"lines": ["Ward Lane"], "city": "Overby"},
            "phone": "01632 960400",
        },
        "urgency": "immediate",
        "rule": "RF01",
        "reason": "Hearing lost since yesterday, drum normal.",
        "question": "Please see him today.",
        "ear": "left",
        "told_by": "phone",
        "told_at": "2026-05-26T12:00+01:00",
        "told_to": "Dr Penhallow, ENT doctor on duty",
        "agreed": "He comes at 14:00.",
        "receipt": "called back at 12:20",
        "client_told": "To go there today.",
    },
}
MAPS = load_term_maps(None)


def raw(**changes: Any) -> Raw:
    """The same with fields set by path (`referral__question=None`); None takes one out."""
    made = deepcopy(SUDDEN)
    for path, value in changes.items():
        *groups, last = path.split("__")
        node = made
        for group in groups:
            node = node[group]
        if value is None:
            node.pop(last)
        else:
            node[last] = value
    return made


def visit(**changes: Any) -> Visit:
    """It as a coded visit."""
    return code_visit(Visit.model_validate(raw(**changes)), MAPS)[0]
