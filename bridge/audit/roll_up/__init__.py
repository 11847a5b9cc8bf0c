"""Figures of many clinics added: counts first, shares of the sums after; who is missing is named."""

from bridge.audit.roll_up.add import Pooled, RolledUp, added
from bridge.audit.roll_up.expected import Expected, expected_of

__all__ = ["Expected", "Pooled", "RolledUp", "added", "expected_of"]
