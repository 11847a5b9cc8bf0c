"""What is wrong with a text that is not JSON, in plain words."""

from __future__ import annotations

from json import JSONDecodeError

_TOLD = {
    "Expecting property name": "here a name in double quotation marks is needed",
    "Expecting value": "here a value is needed",
    "Expecting ':'": "a colon is missing after a name",
    "Expecting ','": "a comma is missing, or what stands here does not belong to the value before it",
    "Unterminated string": "a text that starts here has no closing quotation mark",
    "Invalid control character": "a text runs over the end of the line, or holds a sign that must be escaped",
    "Invalid \\escape": "a backslash stands before a sign that it cannot go with",
    "Invalid \\u": "four figures of a number in base 16 are needed after \\u",
    "Extra data": "something stands after the closing bracket",
}
"""By how the messages of Python's own reader begin."""
_COMMA = "there is a comma before the closing bracket"


def slip(text: str, error: JSONDecodeError) -> str:
    """The commonest slips of hand by name, others by what is missing where the reader stopped."""
    at = error.pos
    rest = text[at : at + 1_000]
    if rest.startswith(("//", "/*", "#")):
        return "it has no comments"
    if rest.startswith(("'", "‘", "’", "“", "”", "„")):
        return 'quotation marks are straight and double (")'
    if rest.startswith(("]", "}")) and text[max(at - 1_000, 0) : at].rstrip().endswith(","):
        return _COMMA
    if rest.startswith(",") and rest[1:].lstrip().startswith(("]", "}")):  # where Python 3.13 stops
        return _COMMA
    if not text[at:].strip():
        return "the file ends too early"
    return next((told for begin, told in _TOLD.items() if error.msg.startswith(begin)), "a sign does not belong here")
