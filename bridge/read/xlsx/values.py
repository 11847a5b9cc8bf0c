"""A number of a cell as the text that the person sees."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal, InvalidOperation

from bridge.read.fault import Fault
from bridge.read.xlsx.formats import Shown

_DAY = 86_400
_MOST_DIGITS = 15
_LAST_DAY = 2_958_465  # 9999-12-31


def plain_number(text: str) -> str:
    """A number in its shortest form with the 15 digits that a spreadsheet keeps; what is none stays as it is."""
    if text.isdecimal() and len(text) <= 15 and (text[0] != "0" or text == "0"):
        return text
    try:
        value = float(text)
    except ValueError:
        return text
    if value != value or value in (float("inf"), float("-inf")):
        return text
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    short = format(value, ".15g")
    if "e" not in short:
        return short
    return format(Decimal(short), "f") if abs(value) < 1e30 and abs(value) > 1e-20 else short


def shown_text(text: str, shown: Shown, epoch: int) -> tuple[str, Fault | None]:
    """The stored number as it is shown, or why it stands for nothing."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        return text, None
    if not value.is_finite() or value.adjusted() > _MOST_DIGITS:
        return text, None
    if shown.kind == "number":
        return _number(value, text, shown), None
    if shown.kind == "percent":
        return plain_number(str(value.scaleb(2))) + "%", None
    if shown.kind == "duration":
        return _duration(value), None
    return _moment(value, shown, epoch)


def _number(value: Decimal, text: str, shown: Shown) -> str:
    if shown.words and (words := shown.words[0 if value > 0 else 1 if value < 0 else 2]):
        return words
    if shown.digits and value == value.to_integral_value() and value >= 0:
        return shown.before + _digits(str(int(value)), shown.digits) + shown.after
    if value < 0:
        return f"-{shown.before}{plain_number(text.strip().lstrip('-'))}{shown.after}"
    return f"{shown.before}{plain_number(text)}{shown.after}"


def _digits(number: str, pattern: str) -> str:
    number = number.zfill(pattern.count("0"))
    extra, rest = number[: len(number) - pattern.count("0")], iter(number[len(number) - pattern.count("0") :])
    return extra + "".join(next(rest) if c == "0" else c for c in pattern)


def _duration(value: Decimal) -> str:
    seconds = round(abs(value) * _DAY)
    hours, rest = divmod(seconds, 3600)
    text = f"{hours}:{rest // 60:02}" + (f":{rest % 60:02}" if rest % 60 else "")
    return f"-{text}" if value < 0 and seconds else text


def moment_text(value: Decimal, epoch: int) -> tuple[date, int] | None:
    """Day and second of a day number; None for a day that no calendar has.

    In the system that begins in 1900, day 60 is the 29 February that 1900 did not have, and day 0 is none.
    """
    days = int(value // 1)
    seconds = round((value - days) * _DAY)
    if seconds == _DAY:
        days, seconds = days + 1, 0
    if days < 0 or days > _LAST_DAY or (epoch == 1900 and days in (0, 60)):
        return None
    first = date(1904, 1, 1) if epoch == 1904 else date(1899, 12, 31) if days < 60 else date(1899, 12, 30)
    try:
        return first + timedelta(days=days), seconds
    except OverflowError:
        return None


def clock(seconds: int) -> str:
    """A time of day, its seconds only where they are not zero."""
    return f"{seconds // 3600:02}:{seconds % 3600 // 60:02}" + (f":{seconds % 60:02}" if seconds % 60 else "")


def _moment(value: Decimal, shown: Shown, epoch: int) -> tuple[str, Fault | None]:
    if shown.kind == "time" and value >= 0:
        seconds = round((value % 1) * _DAY)
        return clock(seconds % _DAY), None
    found = moment_text(value, epoch)
    if found is None:
        told = "The cell is shown as a date, and its number stands for no day of the calendar."
        return plain_number(str(value)), Fault("R145", told, "day")
    day, seconds = found
    if shown.kind == "moment":
        return f"{day.isoformat()} {clock(seconds)}" if seconds else day.isoformat(), None
    return _as_shown(day, shown.parts), None


def _as_shown(day: date, parts: str) -> str:
    """A day that is not shown, and is the first, was most likely never written: the program adds it to a month."""
    if parts in ("y", "ym") and day.day == 1:
        return f"{day.year:04}" if parts == "y" and day.month == 1 else f"{day.year:04}-{day.month:02}"
    return day.isoformat()
