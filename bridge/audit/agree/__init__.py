"""Filled re-coding sheets: read, held against the record and against each other, and told."""

from __future__ import annotations

from bridge.audit.agree.answers import Answer, Filled, read_filled
from bridge.audit.agree.compute import agreed
from bridge.audit.agree.shapes import Agreed, Difference, Share

__all__ = ["Agreed", "Answer", "Difference", "Filled", "Share", "agreed", "read_filled"]
