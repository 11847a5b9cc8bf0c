"""The room of checks: what is wrong with a bundle, and what is doubtful in a visit. Nothing is changed here."""

from __future__ import annotations

from typing import Any

from bridge.issues import Issue


def check_bundle(bundle: Any) -> list[Issue]:
    """Everything found in a Bundle or a single resource: conformance first, then trade, the most telling first.

    Takes any JSON data at all and never raises for it. `rules()[issue.rule].trade` tells checks of the
    trade (sides, identifiers) from conformance to the standard.
    """
    from bridge.check.conformance import check_conformance, refused
    from bridge.check.order import most_telling_first
    from bridge.check.trade import check_trade

    found = check_conformance(bundle)
    return most_telling_first(found if refused(found) else [*found, *check_trade(bundle)])
