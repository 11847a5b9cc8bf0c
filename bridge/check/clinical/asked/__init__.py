"""Questions that no kind of the language can ask: Python functions by name, each with the fields that it reads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.signs import Wakes, no_signs

Function = Callable[..., Answer]


@dataclass(frozen=True, slots=True)
class Asked:
    """A function of a context (and of what `with` hands to it), and the fields from which it answers."""

    function: Function
    fields: tuple[str, ...]
    options: tuple[str, ...] = ()
    """What `with` may hold."""
    about_record: bool = False
    """Whether it asks what is written, and so always knows."""
    wakes: Wakes = no_signs
    """Called with the same options: signs without any of which it answers no."""


_REGISTRY: dict[str, Asked] = {}


def asked(
    name: str,
    fields: tuple[str, ...],
    options: tuple[str, ...] = (),
    about_record: bool = False,
    wakes: Wakes = no_signs,
) -> Callable[[Function], Function]:
    """Registers `function(context, **with) -> yes, no or None` under the name that questions call it by."""

    def register(function: Function) -> Function:
        _REGISTRY[name] = Asked(function, fields, options, about_record, wakes)
        return function

    return register


@cache
def functions() -> dict[str, Asked]:
    """All of this folder, by name."""
    path: Any = __path__
    for module in iter_modules(path):
        import_module(f"{__name__}.{module.name}")
    return dict(_REGISTRY)
