"""Answers of a terminology server, kept for a week in the user's cache folder.

What is kept names no code: a question stands there as its hash. Where the folder cannot be used, nothing is kept.
"""

from __future__ import annotations

import hashlib
import os
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from bridge.cache_folder import cache_folder

if TYPE_CHECKING:
    import sqlite3

WEEK = 7 * 24 * 3600
_MOST = 100_000
_FILE = "terminology-1.sqlite3"
_TABLE = "CREATE TABLE IF NOT EXISTS answers (question TEXT PRIMARY KEY, answer TEXT NOT NULL, day REAL NOT NULL)"


class Kept:
    """Question to answer, both texts."""

    def __init__(self) -> None:
        self._memory: dict[str, str] = {}
        self._file: sqlite3.Connection | None = None
        self._tried = False

    def get(self, question: str) -> str | None:
        """The answer, where there is one that is not too old."""
        key = _key(question)
        if key not in self._memory:
            row = self._do("SELECT answer FROM answers WHERE question = ? AND day BETWEEN ? AND ?", key, *_days())
            if row is None or not isinstance(row[0], str):
                return None
            self._memory[key] = row[0]
        return self._memory[key]

    def put(self, question: str, answer: str) -> None:
        """Keeps an answer."""
        if len(self._memory) >= _MOST:
            self._memory.clear()
        key = _key(question)
        self._memory[key] = answer
        self._do("INSERT OR REPLACE INTO answers VALUES (?, ?, ?)", key, answer, time.time())

    def _do(self, statement: str, *values: Any) -> Any:
        """The first row; None where there is none or the file cannot be used (then it is not asked again)."""
        import sqlite3

        try:
            self._open()
            if self._file is None:
                return None
            row = self._file.execute(statement, values).fetchone()
            self._file.commit()
            return row
        except (sqlite3.Error, OSError):
            with suppress(sqlite3.Error):
                if self._file is not None:
                    self._file.close()
            self._file = None
            return None

    def _open(self) -> None:
        if self._tried:
            return
        self._tried = True
        import sqlite3

        try:
            path = cache_folder() / _FILE
        except RuntimeError:  # nobody's home is known
            return
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o600))
        file = sqlite3.connect(path, timeout=0.5, check_same_thread=False)
        file.execute(_TABLE)
        file.execute("DELETE FROM answers WHERE day NOT BETWEEN ? AND ?", _days())
        file.execute(
            "DELETE FROM answers WHERE question IN (SELECT question FROM answers ORDER BY day DESC LIMIT -1 OFFSET ?)",
            (_MOST,),
        )
        file.commit()
        self._file = file


def _days() -> tuple[float, float]:
    """From when to when an answer is good: none from the future."""
    now = time.time()
    return now - WEEK, now + 60


def _key(question: str) -> str:
    return hashlib.sha256(question.encode("utf-8", "replace")).hexdigest()
