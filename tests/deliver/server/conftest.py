"""A FHIR server of others, and faults on the way to it."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import keyring
import keyring.backends.null
import pytest

LIB = Path(__file__).parents[2] / "oracles/maven/lib/fhir-server"
SECONDS = 120


@pytest.fixture(autouse=True)
def no_secrets_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for name in [n for n in os.environ if n.startswith("VISIT_BRIDGE_SEND_") or n.lower().endswith("_proxy")]:
        monkeypatch.delenv(name)
    before = keyring.get_keyring()
    keyring.set_keyring(keyring.backends.null.Keyring())
    yield
    keyring.set_keyring(before)


@pytest.fixture(scope="session")
def fhir_server() -> Iterator[str]:
    """The base address of HAPI FHIR (JPA, R4, in memory), started once; where it is not at hand, tests are skipped, and
    under CI=true they fail."""
    why = "" if (LIB / "classes/FhirServer.class").exists() else "tests/oracles/maven/install was not run"
    if why or not shutil.which("java"):
        pytest.fail(why or "no Java") if os.environ.get("CI") == "true" else pytest.skip(why or "no Java")
    java = ["java", "-Xmx512m", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-cp", f"{LIB}/classes:{LIB}/*"]
    with subprocess.Popen(
        [*java, "FhirServer"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as server:
        assert server.stdin is not None
        assert server.stdout is not None
        said = server.stdout.readline().split()
        assert said[:1] == ["PORT"], "the FHIR server did not start"
        yield f"http://127.0.0.1:{said[1]}/fhir"
        server.stdin.close()
        try:
            server.wait(SECONDS)
        except subprocess.TimeoutExpired:
            server.kill()
