"""Several at once, in order: results as given, few waiting, and what fails is raised in its turn."""

from __future__ import annotations

import threading
import time
from functools import partial

import pytest

from bridge.in_turn import InTurn


def slow(number: int) -> int:
    time.sleep(0.002 * (7 - number % 7))
    return number


def test_results_come_in_the_order_of_the_calls() -> None:
    hands: InTurn[int] = InTurn(3)
    found = [one for number in range(40) for one in hands.give(partial(slow, number))]
    assert found == list(range(len(found)))
    assert [*found, *hands.rest()] == list(range(40))


def test_several_are_at_work_and_few_wait() -> None:
    hands: InTurn[str] = InTurn(2)
    out = waiting = 0
    names = set()
    for number in range(30):
        for name in hands.give(lambda: (slow(1), threading.current_thread().name)[1]):
            names.add(name)
            out += 1
        waiting = max(waiting, number + 1 - out)
    names |= set(hands.rest())
    assert len(names) == 2
    assert waiting == 4


def test_what_fails_is_raised_in_its_turn_and_the_others_come() -> None:
    def call(number: int) -> int:
        if number == 2:
            raise ValueError("two")
        return number

    hands: InTurn[int] = InTurn(2)
    assert [one for number in range(4) for one in hands.give(partial(call, number))] == []
    rest = hands.rest()
    assert [next(rest), next(rest)] == [0, 1]
    with pytest.raises(ValueError, match="two"):
        next(rest)
    assert list(hands.rest()) == [3]


def test_nothing_given_is_nothing_made() -> None:
    assert list(InTurn[int]().rest()) == []
