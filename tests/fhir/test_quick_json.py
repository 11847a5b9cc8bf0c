"""The quick reader says what the careful one says, or leaves it to that one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.fhir.quick_json import MOST_BYTES, quick_json
from bridge.fhir.read_json import MAX_DEPTH, read_carefully, read_json

BUNDLES = sorted((Path(__file__).parents[2] / "demo_bundles").glob("*.bundle.json"))
SMALL = (
    b'{"resourceType": "Observation", "id": "a-0", "status": "final", "note": [{"text": "\\u00e9 \\"x\\" -0"}],'
    b' "valueQuantity": {"value": 1.50, "unit": "mm[Hg]"}, "n": [1, -1, 20, -2.5, 0.0000010, 123456789012, true, null],'
    b' "contained": [{"a": {"b": [[]]}}], "\\u0022": "\xc3\xa9\\ud83d\\ude00"}'
)


def typed(value: Any) -> Any:
    """The value with its types told, so that 1, True and Decimal(1), or 1.5 and 1.50, are not the same."""
    if isinstance(value, dict):
        return {key: typed(inner) for key, inner in value.items()}, list(value)
    return [typed(inner) for inner in value] if isinstance(value, list) else f"{type(value).__name__} {value!r}"


def agrees(content: bytes) -> bool:
    """Whether the quick reader gave an answer; it must be that of the careful one, with nothing to tell."""
    data = quick_json(content, MAX_DEPTH)
    if data is not None:
        told, issues = read_carefully(content)
        assert issues == []
        assert typed(data) == typed(told)
    return data is not None


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(st.text(max_size=8), plain, max_size=5), st.sampled_from([None, 2, 4]), st.booleans())
def test_it_agrees_on_any_data(data: dict[str, Any], indent: int | None, ascii: bool) -> None:
    try:
        content = json.dumps(data, indent=indent, ensure_ascii=ascii).encode()
    except UnicodeEncodeError:
        return
    agrees(content)


PIECES = (
    rb'"|\|\u0022|\u002D|\ud800|-0|-|:|,|[|{|}|1e5|-0.0|1234567890123456789|9007199254740993|"a":1,|"id":"x",|NaN|01'
).split(b"|")
pieces = st.sampled_from([*PIECES, b"\xff", b"\n", b"\0", b"\xef\xbb\xbf"])


@given(
    st.lists(st.tuples(st.integers(0, len(SMALL)), st.integers(0, 12), pieces | st.binary(max_size=3)), max_size=4),
    st.booleans(),
)
def test_it_agrees_on_mutated_bytes(changes: list[tuple[int, int, bytes]], compact: bool) -> None:
    content = json.dumps(json.loads(SMALL), separators=(",", ":")).encode() if compact else SMALL
    for at, length, piece in changes:
        content = content[:at] + piece + content[at + length :]
    agrees(content)


@given(st.binary(max_size=60))
def test_it_agrees_on_any_bytes(content: bytes) -> None:
    agrees(content)


@pytest.mark.parametrize("path", BUNDLES, ids=lambda p: p.name)
def test_our_own_documents_are_read_quickly(path: Path) -> None:
    content = path.read_bytes()
    assert agrees(content)
    data = json.loads(content)
    assert agrees(json.dumps(data).encode())
    assert agrees(json.dumps(data, indent=4, ensure_ascii=False).encode())
    assert agrees(json.dumps(data, separators=(",", ":"), ensure_ascii=False).encode())


@pytest.mark.parametrize(
    "content",
    [
        b'{"a":1,"a":2}',
        b'{\n  "a": 1,\n  "a": 1\n}',
        b'{"a":1,"a":"\\u0022\\u0022"}',
        b'{"a":-0}',
        b'{"a":-0,"b":"\\u002d"}',
        b'{"a":1234567890123456789}',
        b'{"a":1e5}',
        b'{"a":' + b"1" * 61 + b".0}",
        b'{"a":"\\ud800"}',
        b'\xef\xbb\xbf{"a":1}',
        b"[]",
        b'{"a":1}\0',
        b'{"a":"\0"}',
    ],
)
def test_it_leaves_to_the_careful_reader(content: bytes) -> None:
    assert quick_json(content, MAX_DEPTH) is None


@pytest.mark.parametrize("pretty", [False, True])
@pytest.mark.parametrize(("levels", "quick"), [(MAX_DEPTH, True), (MAX_DEPTH + 1, False), (250, False), (5_000, False)])
def test_it_counts_levels_as_the_careful_reader_does(levels: int, quick: bool, pretty: bool) -> None:
    content = b'{"a":' + b"[" * (levels - 2) + b'{"b":1}' + b"]" * (levels - 2) + b"}"
    if pretty and levels < 900:
        content = json.dumps(json.loads(content), indent=2).encode()
    assert agrees(content) is quick
    assert (read_json(content)[0] is not None) is quick


def test_a_large_file_is_read_carefully() -> None:
    """The writer sets aside some 260 bytes for each entry of a list, which hostile data would make use of."""
    rows = b'{"a":[' + b"1," * (MOST_BYTES // 2) + b"1]}"
    assert not agrees(rows)
    assert agrees(rows[: MOST_BYTES // 2] + b"1]}")
