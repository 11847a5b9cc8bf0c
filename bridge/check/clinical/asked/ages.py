"""What the record calls a client that goes with an age or a sex. What it does not say is not claimed."""

from __future__ import annotations

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context

_BABY = "08"
"""NHS number verification status: put off, for a baby under six weeks."""


@asked("number_waits_as_a_babys", fields=("visit.client.nhs_number_status",), about_record=True)
def number_waits_as_a_babys(context: Context) -> Answer:
    return context.visit.client.nhs_number_status == _BABY


@asked("told_as_male", fields=("visit.client.sex",), about_record=True)
def told_as_male(context: Context) -> Answer:
    return context.visit.client.sex == "male"
