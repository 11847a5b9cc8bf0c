"""A language for tests, made from English: every letter has an accent, every text is longer by a third, and marks stand
around all that comes from the catalogue. Values that are put in stand outside of the marks, so that a word which is not
from the catalogue shows wherever it stands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from string import Formatter
from typing import Any

import pytest

from bridge.wording import ENGLISH, Catalogue
from tests.wording.english import english_elsewhere

module: Any = import_module("bridge.wording.catalogue")

TAG = "qps"
"""A private tag: no language has it."""
OPEN, CLOSE = "⟦", "⟧"
_PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_ACCENTED = "áƀćďéƒǵĥíĵķĺḿńóṕʠŕśťúṽẃẋýźÁƁĆĎÉƑǴĤÍĴĶĹḾŃÓṔɊŔŚŤÚṼẂẊÝŹ"
_MARKED = re.compile(rf"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}")
_TABLE = str.maketrans(_PLAIN, _ACCENTED)


def is_kept(key: str) -> bool:
    """Settings and lists of codes that stand among the words."""
    return key == "date.hours" or key.endswith(".codes")


def pseudo() -> Catalogue:
    english = module.catalogue(ENGLISH)
    words = {**english_elsewhere(), **english.words}
    said = {key: text if is_kept(key) else pseudo_words(text) for key, text in words.items()}
    return Catalogue(TAG, "Pseudo", False, said)


def pseudo_words(text: str) -> str:
    """`{number} of {things}` as `{number}⟦ óƒ ~⟧{things}`; signs without a letter stay as they are."""
    parts = []
    for words, field, form, _ in Formatter().parse(text):
        if not any(map(str.isalpha, words)):
            parts.append(words)
        else:
            parts.append(f"{OPEN}{words.translate(_TABLE)}{'~' * -(-len(words) * 3 // 10)}{CLOSE}")
        if field is not None:
            parts.append("{" + field + (f":{form}" if form else "") + "}")
    return "".join(parts)


def outside(text: str) -> str:
    """What of a text does not come from the catalogue."""
    return _MARKED.sub(" ", text)


@contextmanager
def pseudo_language(monkeypatch: pytest.MonkeyPatch) -> Iterator[Catalogue]:
    """The pseudo-language is listed, so that documents with its tag are written and read in it."""
    made, known = pseudo(), module.catalogue
    row = {"tag": TAG, "name": made.name, "reviewed": "no"}
    with monkeypatch.context() as patched:
        patched.setitem(module.languages(), TAG, row)
        patched.setattr(module, "catalogue", lambda tag: made if tag == TAG else known(tag))
        yield made
