"""Reads YAML that a person wrote: every scalar as the text it is, every field with its line and column.

YAML of its own accord turns `no` into False, `10:30` into 630 and `2026-03-01` into a date; a record
says what is written. Only an empty value, `~` and `null` become None.
"""

from __future__ import annotations

from typing import Any

from bridge.errors import InputError

MAX_BYTES = 2_000_000
MAX_DEPTH = 30
MAX_NODES = 100_000

Places = dict[str, tuple[int, int]]
"""Field path (`clinic.phone`, `practitioners[1].key`; empty for the whole) to line and column, from 1."""


class MarkedYamlError(InputError):
    """Not readable as YAML; `line` and `column` count from 1 where they are known."""

    def __init__(self, message: str, line: int | None = None, column: int | None = None) -> None:
        super().__init__(message, "Check indentation, colons and quotation marks there.")
        self.line, self.column = line, column


def load_marked(content: bytes) -> tuple[Any, Places]:
    """Plain data (dict, list, str, None) and where each field stands. Raises MarkedYamlError.

    Refused: more than one document, keys given twice, aliases, more than 2 MB, 30 levels, 100,000 nodes.
    """
    import yaml

    if len(content) > MAX_BYTES:
        raise MarkedYamlError(f"is larger than {MAX_BYTES // 1_000_000} MB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise MarkedYamlError("is not text in UTF-8", line) from None
    try:
        _refuse_hostile(text)
        root = yaml.compose(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        at = (mark.line + 1, mark.column + 1) if mark else (None, None)
        raise MarkedYamlError(f"is not readable as YAML ({error.problem or error.context})", *at) from None
    except yaml.reader.ReaderError as error:
        raise MarkedYamlError("holds a character that no text holds", text.count("\n", 0, error.position) + 1) from None
    places: Places = {}
    return (None if root is None else _plain(root, "", places)), places


def _refuse_hostile(text: str) -> None:
    """Bounds depth and size, and refuses aliases, before a tree of nodes is built by recursion."""
    import yaml

    depth = 0
    for count, event in enumerate(yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        mark: Any = event.start_mark
        if isinstance(event, yaml.AliasEvent):
            raise MarkedYamlError("uses an alias (*name); write the value out", mark.line + 1, mark.column + 1)
        if depth > MAX_DEPTH or count > MAX_NODES:
            raise MarkedYamlError("is nested too deeply or holds too much", mark.line + 1, mark.column + 1)


def _plain(node: Any, path: str, places: Places) -> Any:
    import yaml

    places.setdefault(path, (node.start_mark.line + 1, node.start_mark.column + 1))
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item, f"{path}[{index}]", places) for index, item in enumerate(node.value)]
    if isinstance(node, yaml.MappingNode):
        return _mapping(node, path, places)
    bare = not node.style
    return None if bare and node.value in ("", "~", "null") else node.value


def _mapping(node: Any, path: str, places: Places) -> dict[str, Any]:
    import yaml

    found: dict[str, Any] = {}
    for key_node, value_node in node.value:
        at = (key_node.start_mark.line + 1, key_node.start_mark.column + 1)
        if not isinstance(key_node, yaml.ScalarNode):
            raise MarkedYamlError("has a list or a mapping where a name should stand", *at)
        key = key_node.value
        if key in found:
            raise MarkedYamlError("gives the same name twice", *at)
        inner = f"{path}.{key}" if path else key
        places[inner] = at
        found[key] = _plain(value_node, inner, places)
    return found
