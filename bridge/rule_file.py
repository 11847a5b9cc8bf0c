"""Reads the YAML of clinical rules strictly and fast: no aliases, no key twice, no day that does not exist."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from bridge.errors import MappingError

MAX_BYTES = 1_000_000
_HELP = "Mend it there; no rule of the file is used until then."
_TAG = "tag:yaml.org,2002:"
_MAPPING, _SEQUENCE, _TEXT = f"{_TAG}map", f"{_TAG}seq", f"{_TAG}str"
_TRUE = frozenset({"yes", "true", "on"})


def read_rule_file(path: Path) -> Any:
    """Plain data; names are texts, days are dates, and what only looks like a day stays text.

    Raises MappingError with file, line and reason.
    """
    return _data(path, _content(path))


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > MAX_BYTES:
            raise MappingError(f"{path.name} is larger than {MAX_BYTES // 1_000_000} MB.", _HELP)
        return path.read_bytes()
    except OSError as error:
        raise MappingError(f"{path.name} cannot be read: {error.strerror}.") from None


def _data(path: Path, content: bytes) -> Any:
    import yaml

    try:
        text = content.decode("utf-8-sig")
        root = yaml.compose(text, Loader=_loader())
        return None if root is None else _Reader(path, aliases="*" in text).data(root)
    except yaml.MarkedYAMLError as error:
        raise _wrong(path, error.problem or error.context or "", error.problem_mark or error.context_mark) from None
    except (yaml.YAMLError, UnicodeDecodeError, RecursionError):
        raise MappingError(f"{path.name} is not readable YAML in UTF-8.", _HELP) from None


@cache
def read_shipped(path: Path) -> Any:
    """The same of a shipped file, read once in a run. Not to be changed."""
    from bridge.kept import kept

    content = _content(path)
    return kept("rules", content, lambda: _data(path, content))


@cache
def _loader() -> type[Any]:
    """The fastest loader there is, without what rule files never need: tags that depend on where a node stands."""
    import yaml

    base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    patterns: dict[str, list[tuple[str, Any]]] = base.yaml_implicit_resolvers
    tags = {yaml.MappingNode: _MAPPING, yaml.SequenceNode: _SEQUENCE}

    class Loader(base):  # type: ignore[misc]
        def descend_resolver(self, node: Any, index: Any) -> None:
            pass

        def ascend_resolver(self) -> None:
            pass

        def resolve(self, kind: Any, value: str, implicit: Any) -> str:
            if kind is not yaml.ScalarNode:
                return tags[kind]
            if implicit[0]:
                for tag, pattern in patterns.get(value[:1], ()):
                    if pattern.match(value):
                        return tag
            return _TEXT

    return Loader


def _wrong(path: Path, reason: str, mark: Any) -> MappingError:
    at = f", line {mark.line + 1}" if mark else ""
    return MappingError(f"{path.name}{at}: {reason}.", _HELP)


class _Reader:
    """Makes plain data of the nodes of one file, each met once."""

    def __init__(self, path: Path, *, aliases: bool) -> None:
        self.path = path
        self.aliases = aliases
        """Whether there may be any."""
        self.met: set[int] = set()
        """Nodes met already, by their identity; an alias is the same node again."""

    def data(self, node: Any) -> Any:
        if node.tag == _TEXT and not self.aliases:
            return node.value
        if id(node) in self.met:
            raise _wrong(self.path, "an alias (*name) is used; write the value out", node.start_mark)
        self.met.add(id(node))
        if node.tag == _MAPPING:
            return self._mapping(node)
        if node.tag == _SEQUENCE:
            return [self.data(item) for item in node.value]
        if node.id == "scalar":
            return self._scalar(node)
        raise self._of_no_kind(node)

    def _of_no_kind(self, node: Any) -> MappingError:
        return _wrong(self.path, f"“{node.tag[:60]}” is no kind of value that a rule can have", node.start_mark)

    def _mapping(self, node: Any) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in node.value:
            if key.id != "scalar" or id(key) in self.met:
                raise _wrong(self.path, "a list, a mapping or an alias stands where a name should", key.start_mark)
            if key.value in found:
                raise _wrong(self.path, f"the name “{key.value[:60]}” is given twice", key.start_mark)
            found[key.value] = self.data(value)
        return found

    def _scalar(self, node: Any) -> Any:
        tag, text = node.tag.removeprefix(_TAG), node.value
        if tag == "str":
            return text
        try:
            if tag == "int":
                return int(text.replace("_", ""))
            if tag == "float":
                return float(text.replace("_", ""))
            if tag == "timestamp":
                return date.fromisoformat(text)
        except ValueError:
            return text
        if tag == "bool":
            return text.lower() in _TRUE
        if tag == "null":
            return None
        if tag in ("merge", "value"):
            return text
        raise self._of_no_kind(node)
