"""Is the same thing always coded the same way? Takes entries one by one, whatever they were read from."""

from __future__ import annotations

from bridge.audit.tally import EVIDENCE, Tally

__all__ = ["EVIDENCE", "Tally"]
