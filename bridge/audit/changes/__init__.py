"""Two editions of the term maps: which words and records would read the same, finer, different, or were wrong."""

from __future__ import annotations

from bridge.audit.changes.judge import Known, Reading, state_of
from bridge.audit.changes.shapes import STATES, Changed, State, TermChange
from bridge.audit.changes.tally import Tally

__all__ = ["STATES", "Changed", "Known", "Reading", "State", "Tally", "TermChange", "state_of"]
