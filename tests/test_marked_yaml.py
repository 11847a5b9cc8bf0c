"""YAML as a person wrote it: text stays text, places are right, hostile files are refused."""

from __future__ import annotations

import pytest

from bridge.marked_yaml import MarkedYamlError, load_marked


def test_scalars_stay_as_written() -> None:
    data, _ = load_marked(b"a: no\nb: 10:30\nc: 2026-03-01\nd: 0777\ne: 1.50\nf:\ng: ''\nh: ~\n")
    assert data == {
        "a": "no", "b": "10:30", "c": "2026-03-01", "d": "0777", "e": "1.50", "f": None, "g": "", "h": None,
    }  # fmt: skip


def test_places_count_from_one() -> None:
    _, places = load_marked("# note\nclinic:\n  name: Ärzte\nlist:\n- {key: a}\n- key: b\n".encode())
    assert places["clinic"] == (2, 1)
    assert places["clinic.name"] == (3, 3)
    assert places["list[0].key"] == (5, 4)
    assert places["list[1]"] == (6, 3)


def test_a_byte_order_mark_is_passed_over() -> None:
    assert load_marked(b"\xef\xbb\xbfa: b\n")[0] == {"a": "b"}


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b"a: 1\nb: 2\na: 3\n", 3),
        (b"a: &x 1\nb: *x\n", 2),
        (b"a: 1\n  b: 2\n", 2),
        (b"a: \xff\n", 1),
        (b"ok: 1\nbad: a\x07b\n", 2),
        (b"? [a]\n: 1\n", 1),
        (b"a: 1\n---\nb: 2\n", 2),
        (b"a: " + b"[" * 40 + b"]" * 40, 1),
        (b"a: [" + b"1," * 200_000 + b"]", 1),
        (b"a: !!python/object/apply:os.system [x]\n", None),
    ],
    ids=[
        "twice", "alias", "indent", "not UTF-8", "control", "key is a list", "two documents", "deep", "many", "tag",
    ],
)  # fmt: skip
def test_refuses(content: bytes, line: int | None) -> None:
    if line is None:
        # A tag makes nothing run: the value is read as the list that it is.
        assert load_marked(content)[0] == {"a": ["x"]}
        return
    with pytest.raises(MarkedYamlError) as caught:
        load_marked(content)
    assert caught.value.line == line


def test_refuses_a_file_too_large() -> None:
    with pytest.raises(MarkedYamlError, match="2 MB"):
        load_marked(b"a" * 2_000_001)
