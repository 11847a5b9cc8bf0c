"""Moved to bridge.safe_text."""

from bridge.safe_text import plain as plain
from bridge.safe_text import shown as shown
