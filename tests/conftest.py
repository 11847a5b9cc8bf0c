"""Settings for every test."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("steady", deadline=None)  # the first example of a property loads tables
settings.load_profile("steady")
