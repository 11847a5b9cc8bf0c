"""Invented clients: numbers of the range that no real person has (999...), fiction telephone numbers."""

from __future__ import annotations

from random import Random

FAMILIES = ("Tennick", "Pellworm", "Okonjo", "Brackenbury", "Ellerwick", "Sandholt", "Marrow", "Quillfeather")
GIVEN = ("Harold", "Agatha", "Philippa", "Tobias", "Maud", "Noor", "Jonas", "Petra")


def nhs_number(nth: int) -> str:
    """A number of ten digits that begins with 999 and has a good check digit (weights 10 to 2, modulus 11)."""
    while True:
        nine = f"999{nth % 1_000_000:06d}"
        check = -sum(int(digit) * weight for digit, weight in zip(nine, range(10, 1, -1), strict=True)) % 11
        if check < 10:
            return f"{nine}{check}"
        nth += 500_000


def wrong_number(good: str) -> str:
    """The same with its last digit one higher."""
    return good[:9] + str((int(good[9]) + 1) % 10)


def name(random: Random) -> tuple[str, str]:
    return random.choice(FAMILIES), random.choice(GIVEN)
