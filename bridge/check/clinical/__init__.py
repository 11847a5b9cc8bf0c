"""The second pair of eyes: rules of the trade in `mappings/clinical/`, held against a coded visit.

It looks at the record, not at the patient. It advises, names its source, and decides nothing; what is not recorded is
asked.
"""

from __future__ import annotations

from bridge.check.clinical.engine import judge
from bridge.check.clinical.load import load_rules
from bridge.check.clinical.rule import ClinicalRule, Judgement
from bridge.check.clinical.told import issues_of

__all__ = ["ClinicalRule", "Judgement", "issues_of", "judge", "load_rules"]
