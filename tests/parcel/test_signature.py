"""Signatures and fingerprints against the worked examples of the RFCs, and forgeries of every kind."""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from bridge.errors import SettingsError
from bridge.parcel import signing_key, spoken
from bridge.parcel.keys import as_fingerprint, fingerprint_of, new_signing_key
from bridge.parcel.signature import UnacceptableError, WrongError, _hold, sign, verify
from tests.parcel.parcels import es384_key, key

RFC8037_KEY = {
    "kty": "OKP",
    "crv": "Ed25519",
    "d": "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A",
    "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo",
}
"""RFC 8037, appendix A.1 (the key of RFC 8032, section 7.1, test 1)."""
RFC8037_THUMBPRINT = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
"""RFC 8037, appendix A.3."""
RFC8037_PAYLOAD = b"Example of Ed25519 signing"
RFC8037_JWS = (
    "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc."
    "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
)
"""RFC 8037, appendix A.4."""


def plain(text: str | bytes) -> bytes:
    raw = text.encode() if isinstance(text, str) else text
    return base64.urlsafe_b64decode(raw + b"=" * (-len(raw) % 4))


def coded(raw: bytes) -> bytes:
    return base64.urlsafe_b64encode(raw).rstrip(b"=")


def test_the_key_and_the_fingerprint_of_rfc_8037() -> None:
    worked = signing_key(json.dumps(RFC8037_KEY))
    assert (worked.alg, worked.fingerprint) == ("EdDSA", RFC8037_THUMBPRINT)
    assert "nWGx" not in repr(worked)


def test_the_detached_signature_of_rfc_8037() -> None:
    head, _, signature = RFC8037_JWS.split(".")
    public = {name: RFC8037_KEY[name] for name in ("crv", "kty", "x")}
    _hold(RFC8037_PAYLOAD, f"{head}..{signature}".encode(), public, "EdDSA")
    with pytest.raises(WrongError):
        _hold(RFC8037_PAYLOAD + b".", f"{head}..{signature}".encode(), public, "EdDSA")


def test_a_fingerprint_is_the_hash_that_rfc_7638_describes() -> None:
    """Section 3: required members in the order of their names, no blanks, SHA-256."""
    public = es384_key().public
    text = f'{{"crv":"P-384","kty":"EC","x":"{public["x"]}","y":"{public["y"]}"}}'
    assert fingerprint_of(public) == coded(hashlib.sha256(text.encode()).digest()).decode()


def test_ours_is_what_another_library_holds_to_be_right() -> None:
    """Oracle: Ed25519 of the library cryptography over the signing input (RFC 7515, 5.1), put together here."""
    signature = sign(b"the manifest", key())
    head, middle, last = signature.strip().split(b".")
    assert middle == b""
    header = json.loads(plain(head))
    assert set(header) == {"alg", "jwk", "kid"}
    public = Ed25519PublicKey.from_public_bytes(plain(header["jwk"]["x"]))
    public.verify(plain(last), head + b"." + coded(b"the manifest"))
    assert "d" not in header["jwk"]


def test_ed25519_signs_alike_every_time_and_es384_does_not() -> None:
    assert sign(b"m", key()) == sign(b"m", key())
    assert sign(b"m", es384_key()) != sign(b"m", es384_key())
    for signer in (key(), es384_key()):
        found = verify(b"m", sign(b"m", signer))
        assert (found.fingerprint, found.alg, found.name) == (signer.fingerprint, signer.alg, "")


def _with_header(**changes: object) -> bytes:
    """A signature of ours whose header was changed and signed anew over the changed header, as a forger would."""
    from joserfc.jwk import import_key

    header = {"alg": "EdDSA", "jwk": dict(key().public), "kid": key().fingerprint, **changes}
    head = coded(json.dumps({name: value for name, value in header.items() if value is not None}).encode())
    made = import_key(dict(key().private)).private_key.sign(head + b"." + coded(b"m"))  # type: ignore[union-attr]
    return head + b".." + coded(made)


def test_the_forger_below_makes_good_ones_too() -> None:
    assert verify(b"m", _with_header()).fingerprint == key().fingerprint
    assert verify(b"m", _with_header(alg="Ed25519")).fingerprint == key().fingerprint
    assert verify(b"m", _with_header(kid=None)).fingerprint == key().fingerprint


@pytest.mark.parametrize(
    "changes",
    [
        {"alg": "none"},
        {"alg": "HS256"},
        {"alg": "ES256"},
        {"alg": "ES384"},
        {"alg": None},
        {"alg": ["EdDSA"]},
        {"jwk": None},
        {"jwk": "key"},
        {"jwk": {"kty": "oct", "k": "AAAA"}},
        {"jwk": {**RFC8037_KEY}},
        {"jwk": {"kty": "OKP", "crv": "Ed25519", "x": "AA"}},
        {"jwk": {"kty": "OKP", "crv": "Ed448", "x": "AA"}},
        {"kid": RFC8037_THUMBPRINT},
        {"crit": ["b64"], "b64": False},
        {"x5u": "https://example.org/key"},
    ],
    ids=str,
)
def test_a_header_that_proves_nothing(changes: dict[str, object]) -> None:
    with pytest.raises(UnacceptableError):
        verify(b"m", _with_header(**changes))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"..",
        b"a.b.c",
        b"{}",
        b"A" * 20_000 + b"..AA",
        coded(b'{"alg":"none"}') + b"..",
        coded(b"[" * 5_000) + b"..AA",
        coded(b'{"alg":"none","alg":"EdDSA"}') + b"..AA",
        b"\xff..\xff",
    ],
    ids=lambda content: repr(content[:12]),
)
def test_what_is_no_signature(content: bytes) -> None:
    with pytest.raises(UnacceptableError):
        verify(b"m", content)


def test_a_changed_manifest_or_signature_is_wrong() -> None:
    signature = sign(b"m", key())
    for content in (b"n", b"m ", b"", b"m\n"):
        with pytest.raises(WrongError):
            verify(content, signature)
    head, _, last = signature.strip().split(b".")
    broken = bytearray(plain(last))
    broken[3] ^= 1
    with pytest.raises(WrongError):
        verify(b"m", head + b".." + coded(bytes(broken)))
    with pytest.raises(WrongError):
        verify(b"m", head + b".." + coded(bytes(63)))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{" * 10_000,
        json.dumps({**RFC8037_KEY, "d": None}),
        json.dumps({**RFC8037_KEY, "crv": "X25519"}),
        json.dumps({**RFC8037_KEY, "x": "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"}),
        json.dumps({**RFC8037_KEY, "d": "AAAA"}),
    ],
    ids=lambda text: text[:30],
)
def test_what_is_no_signing_key_is_told_without_quoting_it(text: str) -> None:
    with pytest.raises(SettingsError) as met:
        signing_key(text)
    assert "nWGx" not in str(met.value) + met.value.help


def test_a_fingerprint_is_read_as_it_is_spoken() -> None:
    print_ = signing_key(new_signing_key()).fingerprint
    assert as_fingerprint(spoken(print_)) == as_fingerprint(spoken(print_).upper()) == as_fingerprint(print_) == print_
    for wrong in ("", print_[:-1], spoken(print_)[:-1], print_ + "A", "x" * 43):
        assert as_fingerprint(wrong) is None


def test_the_words_of_the_format_for_strangers(tmp_path: Path) -> None:
    """The pieces of code in FORMAT.md, as they stand: with Python alone, with joserfc, with OpenSSL."""
    import re
    import shutil
    import subprocess
    import sys

    from tests.parcel.parcels import as_folder, whole

    page = (Path(__file__).parents[2] / "bridge/parcel/FORMAT.md").read_text(encoding="utf-8")
    folder = as_folder(whole(), tmp_path)
    blocks = re.findall(r"```(\w+)\n(.*?)```", page, re.S)
    assert [lang for lang, _ in blocks] == ["sh", "python", "python", "sh"]
    said = [
        subprocess.run([sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=False)
        for lang, code in blocks
        if lang == "python"
    ]
    assert [run.returncode for run in said] == [0, 0]
    assert key().fingerprint in said[1].stdout
    if shutil.which("openssl"):
        run = subprocess.run(["sh", "-c", blocks[3][1]], cwd=folder, capture_output=True, text=True, check=False)
        assert "Verified Successfully" in run.stdout
    (folder / "manifest.json").write_bytes((folder / "manifest.json").read_bytes() + b" ")
    run = subprocess.run([sys.executable, "-c", blocks[2][1]], cwd=folder, capture_output=True, check=False)
    assert run.returncode != 0
    (folder / "index.html").write_bytes(b"another")
    run = subprocess.run([sys.executable, "-c", blocks[1][1]], cwd=folder, capture_output=True, check=False)
    assert run.returncode != 0
