"""A random sample of the things that records hold, for a second person to code again without seeing the codes."""

from __future__ import annotations

from bridge.audit.sample.draw import BY, Drawn, Thing, draw
from bridge.audit.sample.key import Given, Key, key_of, read_key, written_key

__all__ = ["BY", "Drawn", "Given", "Key", "Thing", "draw", "key_of", "read_key", "written_key"]
