"""Runs the command of this project, and writes down what it does to the world around: files opened for writing,
programs started, connections made; with every logger of the process at its most talkative.

    python tests/watched.py LOG FAULT visit-bridge's arguments...

LOG: a file of JSON lines, one for each event. FAULT: a function (`bridge.build:document`) that fails with the
client's name in its words, or a dash.
"""

from __future__ import annotations

import json
import logging
import os
import runpy
import sys
from importlib import import_module
from typing import Any

_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def watch(log: int) -> None:
    def hook(event: str, args: tuple[Any, ...]) -> None:
        told: list[str] = []
        if event == "open":
            path, mode, flags = args
            writes = isinstance(mode, str) and bool(set(mode) & set("wax+"))
            if not isinstance(path, int) and (writes or (isinstance(flags, int) and flags & _WRITING)):
                told = [os.fsdecode(path)]
        elif event in {"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "socket.connect"}:
            told = [str(args)]
        elif event in {"tempfile.mkstemp", "tempfile.mkdtemp"}:
            told = [str(args[0])]
        if told:
            os.write(log, (json.dumps([event, *told]) + "\n").encode())

    sys.addaudithook(hook)


def fail(function: str, words: str) -> None:
    module, _, name = function.partition(":")

    def broken(*_: Any, **__: Any) -> Any:
        raise ValueError(words)

    setattr(import_module(module), name, broken)


def main() -> None:
    log, function, words, *arguments = sys.argv[1:]
    logging.basicConfig(level=logging.DEBUG, filename=f"{log}.logging")
    if function != "-":
        fail(function, words)
    watch(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600))
    sys.argv = ["visit-bridge", *arguments]
    runpy.run_module("bridge", run_name="__main__")


main()
