"""FHIRPath text in tokens. Source: https://hl7.org/fhirpath/N1/#lexical-elements."""

from __future__ import annotations

import re
from typing import NamedTuple

from bridge.fhir.path.undecided import BeyondError, UndecidedError

MAX_LENGTH = 10_000
"""Characters of an expression that is looked at."""

_TOKEN = re.compile(
    r"(?P<gap>\s+|//[^\n]*|/\*.*?\*/)"
    r"|(?P<time>@[0-9T][0-9T:.+Z-]*)"
    r"|(?P<number>[0-9]+(?:\.[0-9]+)?)"
    r"|(?P<text>'(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\")"
    r"|(?P<name>[A-Za-z_][A-Za-z0-9_]*|`(?:[^`\\]|\\.)*`)"
    r"|(?P<constant>%(?:[A-Za-z_][A-Za-z0-9_-]*|`(?:[^`\\]|\\.)*`|\"(?:[^\"\\]|\\.)*\"|'(?:[^'\\]|\\.)*'))"
    r"|(?P<self>\$[a-z]+)"
    r"|(?P<mark><=|>=|!=|!~|[-+*/&|=~<>.,(){}\[\]])",
    re.DOTALL,
)
_ESCAPES = {"n": "\n", "r": "\r", "t": "\t", "f": "\f", "\\": "\\", "/": "/", "'": "'", '"': '"', "`": "`"}
_ESCAPE = re.compile(r"\\(?:u([0-9a-fA-F]{4})|(.))", re.DOTALL)


class Token(NamedTuple):
    """`kind` is one of `time number text name quoted constant self mark end`; `quoted` is a name in backticks."""

    kind: str
    word: str


def tokens(expression: str) -> list[Token]:
    """The tokens, an `end` last. Raises UndecidedError for what is too long, BeyondError for what is none."""
    if len(expression) > MAX_LENGTH:
        raise UndecidedError
    found: list[Token] = []
    at = 0
    while at < len(expression):
        token = _TOKEN.match(expression, at)
        if token is None:
            raise BeyondError
        at = token.end()
        kind, word = str(token.lastgroup), token[0]
        if kind == "text":
            word = unescaped(word[1:-1])
        elif kind == "constant":
            word = unescaped(word[2:-1]) if word[1] in "`\"'" else word[1:]
        elif kind == "self":
            word = word[1:]
        elif kind == "name" and word[0] == "`":
            kind, word = "quoted", unescaped(word[1:-1])
        if kind != "gap":
            found.append(Token(kind, word))
    return [*found, Token("end", "")]


def unescaped(text: str) -> str:
    """The text meant. What no escape is stays as written, as in patterns whose backslash was not doubled (`'\\s'`)."""
    return _ESCAPE.sub(lambda m: chr(int(m[1], 16)) if m[1] else _ESCAPES.get(m[2], m[0]), text)
