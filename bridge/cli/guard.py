"""The last net under every command: whatever happens, one plain line and the right exit code."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from types import ModuleType
from typing import Any, NoReturn

import click

from bridge.errors import BridgeError

COULD_NOT_GO_ON = 3
STOPPED = 130
BROKEN_PIPE = 141
"""What a shell reports for a program that ends because its reader has gone: 128 + SIGPIPE."""


class ReaderGoneError(Exception):
    """Whoever read our output has closed it, as `| head` does."""


def guarded(run: Callable[[], Any]) -> NoReturn:
    """Runs a click program and leaves with its exit code; tracebacks only under VISIT_BRIDGE_DEBUG=1."""
    _start_quickly()
    _make_streams_safe()
    try:
        code = run()
        sys.stdout.flush()
    except (ReaderGoneError, BrokenPipeError):
        _forget_stdout()
        code = BROKEN_PIPE
    except (click.Abort, KeyboardInterrupt, EOFError):
        _say("Stopped. Nothing more was written.")
        code = STOPPED
    except click.UsageError as error:
        error.show()
        code = error.exit_code
    except click.ClickException as error:
        error.show()
        code = COULD_NOT_GO_ON
    except Exception as error:
        code = _could_not_go_on(error)
    sys.exit(code if isinstance(code, int) else 0)


def _start_quickly() -> None:
    """A command makes many small things that live as long as it does: looking for garbage among them all the time, or
    for plug-ins that no code of ours has, costs a tenth of its start. With plug-ins switched off, pydantic names
    importlib.metadata and takes nothing from it."""
    gc.set_threshold(200_000, 20, 20)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    import_when_used("importlib.metadata")


class _Later(ModuleType):
    """A module that is read when something is first taken from it."""

    def __getattr__(self, name: str) -> Any:
        spec = self.__spec__
        if self.__class__ is ModuleType or name.startswith("__") or spec is None or spec.loader is None:
            raise AttributeError(name)
        self.__class__ = ModuleType  # type: ignore[assignment]
        spec.loader.exec_module(self)
        return getattr(self, name)


def import_when_used(name: str) -> None:
    """Puts the module among those that are imported, to be read later. (A LazyLoader reads at the next `import`.)"""
    from importlib.util import find_spec

    spec = None if name in sys.modules else find_spec(name)
    if spec is None:
        return
    module = _Later(name)
    module.__spec__, module.__loader__ = spec, spec.loader
    module.__file__, module.__package__ = spec.origin, spec.parent or name
    if spec.submodule_search_locations is not None:
        module.__path__ = spec.submodule_search_locations
    sys.modules[name] = module


def _could_not_go_on(error: Exception) -> int:
    if os.environ.get("VISIT_BRIDGE_DEBUG") == "1":
        import traceback

        traceback.print_exc()
        return COULD_NOT_GO_ON
    if isinstance(error, BridgeError):
        _say(error.message)
        if error.help:
            _say(error.help)
    elif isinstance(error, OSError) and error.strerror:
        _say(f"{error.strerror}: {error.filename}" if error.filename else f"{error.strerror}.")
    else:
        # The exception's own words may quote a record, so only its type and place are told.
        _say(f"visit-bridge met a fault of its own and stopped ({type(error).__name__}{_place_of(error)}).")
        _say("Please report that line; VISIT_BRIDGE_DEBUG=1 shows more, but may show client data.")
    return COULD_NOT_GO_ON


def _place_of(error: Exception) -> str:
    """Where in this package the error came from, as ` in bridge/read/values.py line 12`."""
    import traceback
    from pathlib import Path

    package = Path(__file__).resolve().parents[1]
    place = ""
    for frame in traceback.extract_tb(error.__traceback__):
        path = Path(frame.filename)
        if path.is_relative_to(package):
            place = f" in {path.relative_to(package.parent).as_posix()} line {frame.lineno}"
    return place


def _say(line: str) -> None:
    from bridge.safe_text import shown

    click.echo("\n".join(map(shown, line.split("\n"))), err=True)


def _make_streams_safe() -> None:
    """A console that cannot show a letter shows its escape instead of ending the run."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _forget_stdout() -> None:
    """Points stdout at nothing, so that the interpreter's last flush cannot complain."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        return
