"""The program: `visit-bridge`, and `python -m bridge`."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import NoReturn

from bridge.cli import main


def run() -> NoReturn:
    """Runs the command line and leaves.

    Everything is written and closed by then. To take apart all that was made in memory, piece by piece, would take a
    quarter of the whole time of a command that makes one letter; the system takes it back at once.
    """
    code: object = 0
    try:
        main(prog_name="visit-bridge")
    except SystemExit as end:
        code = end.code
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError, AttributeError):
            stream.flush()
    os._exit(code if isinstance(code, int) else 0)


if __name__ == "__main__":
    run()
