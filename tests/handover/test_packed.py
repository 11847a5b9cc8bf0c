"""A hand-over on its way out: signed, sealed, checked by strangers' tools, never half written, never over another."""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
import sys
from html import unescape
from pathlib import Path

import pyrage
import pytest

from bridge.handover import Around, Made, Seal, deliver
from bridge.parcel import About, SigningKey, opened, signing_key, spoken
from bridge.parcel.keys import new_signing_key
from tests.build.ips.some import visit
from tests.handover.some import DAY, made_of, page_of

ABOUT = About(DAY, "The invented clinic", "C-1", "handover")
P384 = '{"crv":"P-384","d":"%s","kty":"EC","x":"%s","y":"%s"}'  # filled by a fresh key


def es384() -> SigningKey:
    import base64

    from cryptography.hazmat.primitives.asymmetric import ec

    key = ec.generate_private_key(ec.SECP384R1())
    numbers = key.private_numbers()
    public = numbers.public_numbers
    values = (numbers.private_value, public.x, public.y)
    return signing_key(P384 % tuple(base64.urlsafe_b64encode(v.to_bytes(48)).rstrip(b"=").decode() for v in values))


def listings(page: str) -> list[str]:
    return [unescape(found) for found in re.findall(r"<pre[^>]*>(.*?)</pre>", page, re.DOTALL)]


def signed(key: SigningKey) -> Made:
    return made_of(visit(1), around=Around(DAY, spoken(key.fingerprint), "key", "C-1-handover.zip.age"))


def check(folder: Path, script: str, work: Path) -> subprocess.CompletedProcess[str]:
    """As the page says, in a Python that finds nothing of ours."""
    path = work / "check_parcel.py"
    path.write_text(script, encoding="utf-8")
    return subprocess.run([sys.executable, "-I", path, folder], capture_output=True, text=True, timeout=60, cwd=work)


@pytest.mark.parametrize("kind", ["EdDSA", "ES384"])
def test_a_stranger_checks_it_as_the_page_says(tmp_path: Path, kind: str) -> None:
    key = signing_key(new_signing_key()) if kind == "EdDSA" else es384()
    made = signed(key)
    folder = tmp_path / "parcel"
    deliver(made.pieces, ABOUT, key, Seal(), folder)
    how, script, run, line = listings(page_of(made))
    assert "bridge" not in script
    assert how.startswith("age -d -i ")
    assert run.splitlines()[1] == "python check_parcel.py parcel"
    right = check(folder, script, tmp_path)
    assert (right.returncode, right.stderr) == (0, "")
    assert right.stdout.splitlines() == [line.strip(), f"{len(made.pieces)} files are as they were signed"]


TAMPERED = {
    "a file changed": lambda f: (f / "words.csv").write_bytes(b"x"),
    "a file removed": lambda f: (f / "words.csv").unlink(),
    "a file added": lambda f: (f / "visits/more.pdf").write_bytes(b"x"),
    "a link": lambda f: ((f / "words.csv").rename(f.parent / "w"), (f / "words.csv").symlink_to(f.parent / "w")),
    "the manifest changed": lambda f: (f / "manifest.json").write_bytes((f / "manifest.json").read_bytes() + b" "),
    "the signature removed": lambda f: (f / "manifest.json.jws").unlink(),
}


@pytest.mark.parametrize("how", TAMPERED)
def test_a_stranger_sees_each_change(tmp_path: Path, how: str) -> None:
    key = signing_key(new_signing_key())
    made = signed(key)
    folder = tmp_path / "parcel"
    deliver(made.pieces, ABOUT, key, Seal(), folder)
    TAMPERED[how](folder)
    wrong = check(folder, listings(page_of(made))[1], tmp_path)
    assert wrong.returncode != 0
    assert "as they were signed" not in wrong.stdout


def test_another_key_has_another_first_line(tmp_path: Path) -> None:
    made = signed(signing_key(new_signing_key()))
    deliver(made.pieces, ABOUT, signing_key(new_signing_key()), Seal(), tmp_path / "parcel")
    _, script, _, line = listings(page_of(made))
    assert line.strip() not in check(tmp_path / "parcel", script, tmp_path).stdout


def test_sealed_for_a_key(tmp_path: Path) -> None:
    """Opened with age's library and unzip alone; with the `age` command where there is one."""
    identity, key = pyrage.x25519.Identity.generate(), signing_key(new_signing_key())
    made = signed(key)
    target = tmp_path / "C-1-handover.zip.age"
    state, paths = deliver(made.pieces, ABOUT, key, Seal((str(identity.to_public()),)), target)
    assert (state, [p.name for p in paths]) == ("written", [target.name, "C-1-handover.how-to-open.txt"])
    assert b"V1.bundle.json" not in target.read_bytes()
    how, script, _, _ = listings(page_of(made))
    assert how in paths[1].read_text()
    (tmp_path / "my-age-key.txt").write_text(str(identity))
    if shutil.which("age"):
        subprocess.run(["sh", "-e", "-c", how], cwd=tmp_path, check=True, timeout=60)
    else:
        (tmp_path / "parcel.zip").write_bytes(pyrage.decrypt(target.read_bytes(), [identity]))
        shutil.unpack_archive(tmp_path / "parcel.zip", tmp_path / "parcel")
    assert check(tmp_path / "parcel", script, tmp_path).returncode == 0
    found = opened(target, identities=[str(identity)])
    assert found.ok
    assert set(found.pieces) == {p.name for p in made.pieces}


def test_sealed_with_a_passphrase(tmp_path: Path) -> None:
    made, target = made_of(visit(1)), tmp_path / "x.zip.age"
    key, right = signing_key(new_signing_key()), "four words or more"
    deliver(made.pieces, ABOUT, key, Seal(passphrase=right), target)
    assert opened(target, passphrase=right).ok
    assert not opened(target, passphrase=right.upper()).ok
    assert right not in repr(Seal(passphrase=right))


def everything(folder: Path) -> dict[str, str]:
    return {
        p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in folder.rglob("*")
        if p.is_file()
    }


def test_nothing_is_written_over_unless_that_is_wished(tmp_path: Path) -> None:
    one, other = made_of(visit(1)), made_of(visit(1), visit(2))
    key, target = signing_key(new_signing_key()), tmp_path / "C-1-handover"
    assert deliver(one.pieces, ABOUT, key, Seal(), target)[0] == "written"
    before = everything(target)
    assert deliver(one.pieces, ABOUT, key, Seal(), target)[0] == "unchanged"
    assert deliver(other.pieces, ABOUT, key, Seal(), target)[0] == "left"
    assert everything(target) == before
    assert deliver(other.pieces, ABOUT, key, Seal(), target, replace=True)[0] == "replaced"
    assert "visits/V2.bundle.json" in everything(target)
    assert [p.name for p in tmp_path.iterdir()] == ["C-1-handover"], "nothing is left beside it"
    assert target.stat().st_mode & 0o077 == 0
    assert all(p.stat().st_mode & 0o077 == 0 for p in target.rglob("*"))


def test_what_is_no_hand_over_is_never_replaced(tmp_path: Path) -> None:
    from bridge.errors import InputError

    target = tmp_path / "C-1-handover"
    target.mkdir()
    (target / "mine.txt").write_text("mine")
    for replace in (False, True):
        with pytest.raises(InputError):
            deliver(made_of(visit(1)).pieces, ABOUT, None, Seal(), target, replace=replace)
    assert everything(tmp_path) == {"C-1-handover/mine.txt": hashlib.sha256(b"mine").hexdigest()}


def test_half_a_hand_over_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk fills up in the middle: what was there stays, and nothing else."""
    from bridge.errors import BridgeError
    from bridge.parcel import packing

    key, target = signing_key(new_signing_key()), tmp_path / "C-1-handover"
    deliver(made_of(visit(1)).pieces, ABOUT, key, Seal(), target)
    before, real, written = everything(target), packing.write_bytes, []

    def full(path: Path, content: bytes, private: bool = False) -> None:
        written.append(path)
        if len(written) > 2:
            raise OSError(28, "No space left on device")
        real(path, content, private)

    monkeypatch.setattr(packing, "write_bytes", full)
    with pytest.raises(BridgeError):
        deliver(made_of(visit(1), visit(2)).pieces, ABOUT, key, Seal(), target, replace=True)
    assert everything(target) == before
    assert [p.name for p in tmp_path.iterdir()] == ["C-1-handover"]
