"""The few fixed words about ears and statements that everything shares, apart from the model, which is slow to load."""

from __future__ import annotations

from typing import Literal

Ear = Literal["right", "left"]
EARS: tuple[Ear, Ear] = ("right", "left")
Stage = Literal["before", "after"]
STAGES: tuple[Stage, Stage] = ("before", "after")

Assertion = Literal["present", "suspected", "absent", "past"]
"""What a statement says of its term. Only `present` may ever become a plain finding."""
