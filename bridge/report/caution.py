"""The caution that a report ends with where a clinical rule spoke in it."""

from __future__ import annotations

import re

from bridge.clinical_caution import clinical_caution
from bridge.issues import Report

_CLINICAL = re.compile(r"C[2-59]\d\d|D17[0-3]")
"""Clinical rules, and the rules about red flags that nobody answered."""


def caution(report: Report) -> str:
    """The caution, or an empty string where no clinical rule spoke."""
    return clinical_caution() if any(_CLINICAL.fullmatch(found.rule) for found in report.issues) else ""
