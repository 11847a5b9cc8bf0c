"""What programs may import from `bridge` itself."""

import subprocess
import sys

import bridge


def test_every_public_name_is_there() -> None:
    for name in bridge.__all__:
        assert getattr(bridge, name) is not None


def test_importing_the_package_costs_nothing() -> None:
    heavy = (
        "import sys, bridge; sys.exit(sum(m in sys.modules for m in ('pydantic', 'yaml', 'orjson', 'lxml', 'click')))"
    )
    assert subprocess.run([sys.executable, "-c", heavy], check=False).returncode == 0
