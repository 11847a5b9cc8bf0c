"""Our seals opened by age itself, and its seals by us: with keys, with many recipients, armoured.

Oracle: the program age of the format's authors (Debian package age, or filippo.io/age/cmd/age).
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from bridge.parcel import opened, packed, public_sealing_key, sealed, zipped
from bridge.parcel.keys import new_sealing_key
from tests.parcel.parcels import ABOUT, PIECES, codes, key

WHOLE = packed(PIECES, ABOUT, key())
MINE, OTHER = new_sealing_key(), new_sealing_key()


@pytest.fixture
def age() -> str:
    found = shutil.which("age")
    if found is None:
        reason = "the program age is not here (Debian: apt-get install age)"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return found


def run(*words: object, given: bytes = b"") -> bytes:
    return subprocess.run([str(word) for word in words], input=given, capture_output=True, check=True).stdout


@pytest.mark.parametrize("who", [MINE, OTHER], ids=["mine", "other"])
def test_age_opens_what_we_seal(who: str, age: str, tmp_path: Path) -> None:
    """The line that FORMAT.md tells strangers."""
    (tmp_path / "my-key.txt").write_text(f"# a note, as age-keygen writes one\n{who}\n")
    (tmp_path / "parcel.zip.age").write_bytes(
        sealed(WHOLE, recipients=[public_sealing_key(MINE), public_sealing_key(OTHER)])
    )
    run(age, "-d", "-i", tmp_path / "my-key.txt", "-o", tmp_path / "parcel.zip", tmp_path / "parcel.zip.age")
    assert (tmp_path / "parcel.zip").read_bytes() == zipped(WHOLE)


@pytest.mark.parametrize("armour", [(), ("-a",)])
def test_we_open_what_age_seals(armour: tuple[str, ...], age: str, tmp_path: Path) -> None:
    recipients = [part for who in (OTHER, MINE) for part in ("-r", public_sealing_key(who))]
    content = run(age, "-e", *armour, *recipients, given=zipped(WHOLE))
    (tmp_path / "parcel.age").write_bytes(content)
    assert len(opened(tmp_path / "parcel.age", identities=[MINE]).pieces) == len(PIECES)
    assert codes(opened(tmp_path / "parcel.age", identities=[new_sealing_key()])) == {"X138"}
