"""The room of checks: what is wrong with a bundle, and what is doubtful in a visit. Nothing is changed here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.issues import Issue

if TYPE_CHECKING:
    from bridge.check.profiles import Asked


def check_bundle(bundle: Any, asked: Asked | None = None) -> list[Issue]:
    """Everything found in a Bundle or a single resource: conformance first, then trade, the most telling first.

    `asked`: what it is held against beyond the standard; where nothing is asked, the profiles that it claims itself.
    Takes any JSON data at all and never raises for it. `rules()[issue.rule].trade` tells checks of the
    trade (sides, identifiers) from conformance to the standard.
    """
    from bridge.check.conformance import check_with_profiles, refused
    from bridge.check.order import most_telling_first
    from bridge.check.trade import check_trade

    found = check_with_profiles(bundle, asked)
    return most_telling_first(found if refused(found) else [*found, *check_trade(bundle)])
