"""Pseudonyms and shifts made with a key: who has it makes the same again, who does not cannot turn them back."""

from __future__ import annotations

import base64
import hashlib
import hmac
from uuid import UUID

LEAST_WEEKS, MOST_WEEKS = 8, 156
"""All dates move into the past, so that none lies ahead: by two months to three years."""


class Keyed:
    """One key for one purpose: sets made for two purposes cannot be linked by their pseudonyms (HMAC-SHA256)."""

    def __init__(self, key: bytes, purpose: str) -> None:
        self._key = hmac.digest(key, f"visit-bridge deidentify {purpose}".encode(), hashlib.sha256)

    def pseudonym(self, letter: str, *words: str) -> str:
        """`V-` and twelve letters and digits: the same for the same words of the same kind."""
        return f"{letter}-{base64.b32encode(self._digest(letter, *words))[:12].decode()}"

    def weeks(self, client: str) -> int:
        """By how many weeks the dates of a client move: whole weeks keep the day of the week."""
        span = MOST_WEEKS - LEAST_WEEKS + 1
        return -(LEAST_WEEKS + int.from_bytes(self._digest("weeks", client)[:8], "big") % span)

    def namespace(self) -> UUID:
        """In place of the practice's own, from which the ids of its documents are made."""
        return UUID(bytes=self._digest("namespace")[:16], version=4)

    def _digest(self, *words: str) -> bytes:
        return hmac.digest(self._key, "\0".join(words).encode("utf-8", "surrogatepass"), hashlib.sha256)
