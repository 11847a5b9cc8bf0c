"""Day numbers of spreadsheets in bare cells, where the layout says that they are meant (`dates: [serial]`)."""

from __future__ import annotations

import re
from decimal import Decimal

from bridge.read.xlsx.values import clock, moment_text

_NUMBER = re.compile(r"\d{1,7}(?:\.\d{1,17})?")


def from_day_number(text: str, epoch: int) -> str:
    """The date, time, or both that a day number stands for, as ISO text; any other text as it is.

    `epoch`: the first year of the numbers, 1900 or 1904.
    """
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        return text
    value = Decimal(text)
    if value < 1:
        return clock(round(value * 86_400) % 86_400)
    found = moment_text(value, epoch)
    if found is None:
        return text
    day, seconds = found
    return f"{day.isoformat()} {clock(seconds)}" if seconds else day.isoformat()
