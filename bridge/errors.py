"""Reasons to stop. What a person could mend in a record is an Issue, not one of these.

BridgeError            could not go on; the message is for the person, without client data
├── InputError         a source or bundle cannot be opened or understood at all
├── MappingError       a shipped or user table is missing or breaks its schema
└── SettingsError      the practice folder is missing or cannot be used
"""

from __future__ import annotations


class BridgeError(Exception):
    """Could not go on. `help` says what the person can do about it."""

    def __init__(self, message: str, help: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.help = help


class InputError(BridgeError):
    """A source or a bundle cannot be opened or understood at all."""


class MappingError(BridgeError):
    """A shipped or user table is missing, or breaks its schema."""


class SettingsError(BridgeError):
    """The practice folder is missing or cannot be used."""
