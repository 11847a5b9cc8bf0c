"""Faults in the writing of JSON, byte by byte (class 14). Source: RFC 8259, and json.html of R4 on doubled keys."""

from __future__ import annotations

import json
from collections.abc import Iterator

from tests.oracles.seed_definitions import Json
from tests.oracles.seed_fault import Fault


def faults(data: Json) -> Iterator[Fault]:
    type = data["resourceType"]
    right = json.dumps(data, ensure_ascii=False, default=float).encode()
    body = right[1:-1]

    def seeded(kind: str, content: bytes, *places: str) -> Fault:
        return Fault(14, f"bytes: {kind}", "writing", frozenset(places), lambda: content)

    yield seeded("a key twice", right[:-1] + b', "language": "en", "language": "cs"}', f"{type}.language")
    yield seeded(
        "a key twice, once escaped", right[:-1] + b', "language": "en", "l\\u0061nguage": "en"}', f"{type}.language"
    )
    yield seeded(
        "a key twice, inside", right[:-1] + b', "meta": {"source": "urn:a", "source": "urn:a"}}', f"{type}.meta.source"
    )
    yield seeded("the kind twice", right[:-1] + f', "resourceType": "{type}"}}'.encode(), f"{type}.resourceType")
    for kind, content in {
        "a comma at the end": right[:-1] + b",}",
        "single quotation marks": b"{'a': 1}",
        "a key without marks": b"{resourceType: 1}",
        "a comment": b"{/* a */" + body + b"}",
        "a comment of a line": b"{// a\n" + body + b"}",
        "no end": right[:-1],
        "cut in the middle": right[: len(right) // 2],
        "two values": right + right,
        "words after": right + b" end",
        "NaN": b'{"a": NaN, ' + body + b"}",
        "without end": b'{"a": Infinity, ' + body + b"}",
        "a nought before": b'{"a": 01, ' + body + b"}",
        "a plus": b'{"a": +1, ' + body + b"}",
        "no digit before": b'{"a": .5, ' + body + b"}",
        "no digit after": b'{"a": 1., ' + body + b"}",
        "hexadecimal": b'{"a": 0x1, ' + body + b"}",
        "a line end in a text": b'{"a": "b\nc", ' + body + b"}",
        "a tab in a text": b'{"a": "b\tc", ' + body + b"}",
        "a NUL": b'{"a": "b\0c", ' + body + b"}",
        "an unknown escape": b'{"a": "\\x41", ' + body + b"}",
        "half an escape": b'{"a": "\\u00", ' + body + b"}",
        "no UTF-8": b'{"a": "\xff", ' + body + b"}",
        "Latin-1": '{"a": "é", '.encode("latin-1") + body + b"}",
        "UTF-16": right.decode().encode("utf-16"),
        "half a character": b'{"a": "\\ud800", ' + body + b"}",
        "nothing": b"",
        "blanks": b" \n",
        "a list": b"[" + right + b"]",
        "a text": b'"a"',
        "null": b"null",
        "True for true": b'{"a": True, ' + body + b"}",
        "a bracket too many": right + b"}",
        "brackets crossed": b'{"a": [1}, ' + body + b"]",
        "too deep": b'{"a": ' + b"[" * 100_000 + b"]" * 100_000 + b", " + body + b"}",
        "too deep objects": b'{"a":' * 50_000 + b"1" + b"}" * 50_000,
        "no colon": b'{"a" 1, ' + body + b"}",
        "no comma": b'{"a": 1 ' + body + b"}",
        "a number of ten thousand digits": b'{"a": ' + b"9" * 10_000 + b", " + body + b"}",
        "an exponent of a million": b'{"a": 1e1000000, ' + body + b"}",
    }.items():
        yield seeded(kind, content)
