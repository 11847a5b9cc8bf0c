"""Dates that move: intervals of days and clock times stay, and so do days of the week and what comes after what.

Oracle: differences worked out here by datetime over the dates as recorded.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from bridge.deidentify.dates import moved, offset_of
from bridge.deidentify.keyed import LEAST_WEEKS, MOST_WEEKS, Keyed
from bridge.visit.base import check_when

LONDON = ZoneInfo("Europe/London")


def _moment(chance: random.Random) -> datetime:
    return datetime(2019, 1, 1, tzinfo=UTC) + timedelta(minutes=chance.randrange(60 * 24 * 365 * 8))


@pytest.mark.parametrize("seed", range(0, 300, 30))
def test_intervals_and_days_of_the_week_stay(seed: int) -> None:
    for one in range(seed, seed + 30):
        _moves_as_a_whole(random.Random(one))


def _moves_as_a_whole(chance: random.Random) -> None:
    weeks = -chance.randrange(LEAST_WEEKS, MOST_WEEKS + 1)
    days = [date(2015, 1, 1) + timedelta(days=chance.randrange(4_000)) for _ in range(2)]
    after = [date.fromisoformat(moved(day.isoformat(), weeks, timedelta())) for day in days]
    assert after[1] - after[0] == days[1] - days[0]
    assert [day.weekday() for day in after] == [day.weekday() for day in days]
    first, second = sorted(_moment(chance).astimezone(LONDON) for _ in range(2))
    zone = first.utcoffset() or timedelta()
    told = [moved(when.isoformat(timespec="minutes"), weeks, zone) for when in (first, second)]
    assert all(text.endswith("Z") for text in told)
    one, other = (datetime.fromisoformat(text) for text in told)
    assert other - one == second.astimezone(UTC) - first.astimezone(UTC)
    assert one.weekday() == first.weekday()
    assert (one.hour, one.minute) == (first.hour, first.minute)


@pytest.mark.parametrize(
    ("when", "weeks", "expected"),
    [
        ("2026-03-30T10:15+01:00", -1, "2026-03-23T10:15Z"),  # over the change of the clocks: the clock's time stays
        ("2026-03-30T10:15:07.250+01:00", -1, "2026-03-23T10:15:07.250Z"),
        ("2026-03-30T09:15:07Z", -1, "2026-03-23T10:15:07Z"),
        ("2024-02-29", -52, "2023-03-02"),
        ("2024-03", -10, "2023-12"),
        ("2024", -10, "2023"),
        ("2024", -200, "2020"),
    ],
)
def test_worked_by_hand(when: str, weeks: int, expected: str) -> None:
    got = moved(when, weeks, timedelta(hours=1))
    assert got == expected
    assert check_when(got) == got


@pytest.mark.parametrize("seed", range(0, 300, 30))
def test_what_was_before_is_not_after(seed: int) -> None:
    """A month or a year that holds the day does not lie after the moved day; one to come does not lie before it."""
    for one in range(seed, seed + 30):
        _keeps_order(random.Random(one))


def _keeps_order(chance: random.Random) -> None:
    day = date(2015, 1, 1) + timedelta(days=chance.randrange(4_000))
    weeks = -chance.randrange(LEAST_WEEKS, MOST_WEEKS + 1)
    now = moved(day.isoformat(), weeks, timedelta())
    for length in (4, 7):
        past = moved(day.isoformat()[:length], weeks, timedelta())
        ahead = moved(day.isoformat()[:length], weeks, timedelta(), to_come=True)
        assert past <= now[:length] <= ahead


def test_before_all_calendars_is_told() -> None:
    with pytest.raises(OverflowError):
        moved("0001-01-01", -10, timedelta())


def test_no_offset_for_what_has_no_time() -> None:
    assert offset_of("2026-07-03") == timedelta()
    assert offset_of("2026-07-03T10:00+01:00") == timedelta(hours=1)


def test_weeks_are_the_clients_own_and_always_into_the_past() -> None:
    keyed = Keyed(b"k" * 32, "teaching")
    weeks = [keyed.weeks(f"number {n}") for n in range(2_000)]
    assert weeks == [keyed.weeks(f"number {n}") for n in range(2_000)]
    assert {-w for w in weeks} == set(range(LEAST_WEEKS, MOST_WEEKS + 1))


def test_another_key_or_purpose_gives_other_pseudonyms_and_weeks() -> None:
    """Oracle of the construction: HMAC-SHA256 (RFC 2104) by hashlib, put together here."""
    import base64
    import hashlib

    def hmac(key: bytes, message: bytes) -> bytes:
        key = key.ljust(64, b"\0")
        inner = hashlib.sha256(bytes(b ^ 0x36 for b in key) + message).digest()
        return hashlib.sha256(bytes(b ^ 0x5C for b in key) + inner).digest()

    keyed = Keyed(b"k" * 32, "audit")
    purpose = hmac(b"k" * 32, b"visit-bridge deidentify audit")
    assert keyed.pseudonym("C", "x") == "C-" + base64.b32encode(hmac(purpose, b"C\0x")).decode()[:12]
    others = [Keyed(b"k" * 32, "teaching"), Keyed(b"l" * 32, "audit")]
    for other in others:
        assert other.pseudonym("C", "x") != keyed.pseudonym("C", "x")
        assert other.namespace() != keyed.namespace()
    assert keyed.pseudonym("C", "x") != keyed.pseudonym("V", "x")
    assert len({keyed.pseudonym("C", str(n)) for n in range(20_000)}) == 20_000
