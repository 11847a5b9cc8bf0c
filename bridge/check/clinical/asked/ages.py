"""What the record calls a client that goes with an age or a sex. What it does not say is not claimed."""

from __future__ import annotations

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import stated
from bridge.ear_words import EARS

_BABY = "08"
"""NHS number verification status: put off, for a baby under six weeks."""


def _names(field: str, concept: str, context: Context) -> bool:
    return any(one.said == "present" and concept in one.concepts for one in stated(field, context))


@asked("called_a_child", fields=("visit.cautions",), about_record=True)
def called_a_child(context: Context) -> Answer:
    return _names("visit.cautions", "caution-child", context)


@asked("called_pregnant", fields=("visit.cautions",), about_record=True)
def called_pregnant(context: Context) -> Answer:
    return _names("visit.cautions", "caution-pregnancy", context)


@asked("loss_put_down_to_age", fields=("visit.right.impressions", "visit.left.impressions"), about_record=True)
def loss_put_down_to_age(context: Context) -> Answer:
    return any(_names(f"visit.{ear}.impressions", "hearing-loss-age", context) for ear in EARS)


@asked("number_waits_as_a_babys", fields=("visit.client.nhs_number_status",), about_record=True)
def number_waits_as_a_babys(context: Context) -> Answer:
    return context.visit.client.nhs_number_status == _BABY


@asked("told_as_male", fields=("visit.client.sex",), about_record=True)
def told_as_male(context: Context) -> Answer:
    return context.visit.client.sex == "male"
