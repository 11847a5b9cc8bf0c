"""Reads the YAML of clinical rules strictly and fast: no aliases, no key twice, no day that does not exist."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from bridge.errors import MappingError

MAX_BYTES = 1_000_000
_HELP = "Mend it there; no rule of the file is used until then."


def read_rule_file(path: Path) -> Any:
    """Plain data; days are dates, and what only looks like one stays text. MappingError with file, line and reason."""
    import yaml

    try:
        if path.stat().st_size > MAX_BYTES:
            raise MappingError(f"{path.name} is larger than {MAX_BYTES // 1_000_000} MB.", _HELP)
        text = path.read_text(encoding="utf-8-sig")
        return yaml.load(text, Loader=_loader())  # noqa: S506 - made from the safe loader
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        at = f", line {mark.line + 1}" if mark else ""
        raise MappingError(f"{path.name}{at}: {error.problem or error.context}.", _HELP) from None
    except (yaml.YAMLError, UnicodeDecodeError, RecursionError):
        raise MappingError(f"{path.name} is not readable YAML in UTF-8.", _HELP) from None
    except OSError as error:
        raise MappingError(f"{path.name} cannot be read: {error.strerror}.") from None


@cache
def read_shipped(path: Path) -> Any:
    """The same, read once in a run. Not to be changed."""
    return read_rule_file(path)


@cache
def _loader() -> Any:
    import yaml

    base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

    class Strict(base):  # type: ignore[misc]
        """The safe loader, which refuses what a reader of the file would overlook."""

        def construct_object(self, node: Any, deep: bool = False) -> Any:
            if node in self.constructed_objects:
                raise yaml.constructor.ConstructorError(
                    None, None, "an alias (*name) is used; write the value out", node.start_mark
                )
            return super().construct_object(node, deep)

        def construct_mapping(self, node: Any, deep: bool = False) -> Any:
            made = super().construct_mapping(node, deep)
            if len(made) != len(node.value):
                seen = set[str]()
                for key, _ in node.value:
                    if key.value in seen:
                        raise yaml.constructor.ConstructorError(
                            None, None, f"the name “{str(key.value)[:60]}” is given twice", key.start_mark
                        )
                    seen.add(key.value)
            if True in made or False in made:  # what YAML takes `no:` and `on:` for
                named = zip(node.value, made.items(), strict=True)
                made = {key.value if isinstance(k, bool) else k: value for (key, _), (k, value) in named}
            return made

    def day(loader: Any, node: Any) -> Any:
        try:
            return date.fromisoformat(node.value)
        except ValueError:
            return node.value

    Strict.add_constructor("tag:yaml.org,2002:timestamp", day)
    return Strict
