"""Keys that sign (JWK: Ed25519 or P-384), their fingerprints (RFC 7638), and keys that open seals (age)."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bridge.errors import SettingsError

KINDS = {"EdDSA": ("OKP", "Ed25519"), "Ed25519": ("OKP", "Ed25519"), "ES384": ("EC", "P-384")}
"""Algorithms of RFC 7518, 8037 and 9864 that are taken, with the kind of key and the curve that each needs."""

_MEMBERS = {"OKP": ("crv", "kty", "x"), "EC": ("crv", "kty", "x", "y")}
_HOW = (
    "Put back the copy that you kept. Without one, take this key out of the folder “keys”, or out of the keyring, "
    "make a new one with `visit-bridge keys make`, and tell the clinics that know you."
)


@dataclass(frozen=True, slots=True)
class SigningKey:
    """A private key that signs; its secret part never shows in a `repr`."""

    alg: str
    """`EdDSA` (Ed25519: the same bytes every time) or `ES384` (a new signature every time)."""
    public: Mapping[str, str]
    private: Mapping[str, str] = field(repr=False)

    @property
    def fingerprint(self) -> str:
        return fingerprint_of(self.public)


def signing_key(text: str) -> SigningKey:
    """The key of a private JWK. Raises SettingsError, which never holds a part of the key."""
    data = _object(text)
    kinds = {kind: alg for alg, kind in KINDS.items() if alg != "Ed25519"}
    alg = kinds.get((str(data.get("kty")), str(data.get("crv"))))
    if alg is None or not isinstance(data.get("d"), str):
        raise SettingsError("The signing key is no private JWK with the curve Ed25519 or P-384.", _HOW)
    public = public_part(data)
    if public is None:
        raise SettingsError("The signing key lacks its public half.", _HOW)
    private = {**public, "d": str(data["d"])}
    try:
        from joserfc.jwk import import_key

        made: Any = import_key(dict(private))
        fits = _public_of(made.private_key) == public
    except Exception:
        fits = False
    if not fits:
        raise SettingsError("The halves of the signing key do not belong together.", _HOW)
    return SigningKey(alg, public, private)


def new_signing_key() -> str:
    """A fresh private JWK (Ed25519) as one line of JSON."""
    from joserfc.jwk import OKPKey

    made = OKPKey.generate_key("Ed25519", private=True)
    return json.dumps(dict(made.as_dict(private=True)), sort_keys=True, separators=(",", ":"))


def public_part(data: Mapping[str, Any]) -> dict[str, str] | None:
    """The members of a JWK that RFC 7638 names, or None where it is no public key of a kind that is taken."""
    members = _MEMBERS.get(str(data.get("kty")), ())
    if (data.get("kty"), data.get("crv")) not in KINDS.values():
        return None
    if not all(isinstance(data.get(name), str) for name in members):
        return None
    return {name: data[name] for name in members}


def fingerprint_of(public: Mapping[str, str]) -> str:
    """RFC 7638: SHA-256 of the required members in their order, without blanks, as base64url."""
    members = {name: public[name] for name in _MEMBERS[public["kty"]]}
    return _text(hashlib.sha256(json.dumps(members, sort_keys=True, separators=(",", ":")).encode()).digest())


def spoken(fingerprint: str) -> str:
    """The fingerprint in groups of four hexadecimal digits, to be read out on the telephone."""
    digits = base64.urlsafe_b64decode(fingerprint + "=").hex()
    return " ".join(digits[at : at + 4] for at in range(0, len(digits), 4))


def as_fingerprint(text: str) -> str | None:
    """A fingerprint as it was typed (base64url, or hexadecimal digits in groups), or None where it is none."""
    tight = re.sub(r"[\s:]", "", text)
    if re.fullmatch(r"[0-9A-Fa-f]{64}", tight):
        return _text(bytes.fromhex(tight))
    if not re.fullmatch(r"[A-Za-z0-9_-]{43}", tight):
        return None
    try:
        return tight if _text(base64.urlsafe_b64decode(tight + "=")) == tight else None
    except (binascii.Error, ValueError):
        return None


def new_sealing_key() -> str:
    """A fresh age identity (AGE-SECRET-KEY-1...)."""
    from pyrage import x25519  # type: ignore[import-untyped]

    return str(x25519.Identity.generate())


def public_sealing_key(identity: str) -> str:
    """The recipient (age1...) of an identity. Raises SettingsError, which never holds a part of the key."""
    return str(age_identity(identity).to_public())


def age_identity(text: str) -> Any:
    """The identity in a text that may hold comments (#), as age-keygen writes it. Raises SettingsError."""
    from pyrage import IdentityError, x25519

    lines = [line.strip() for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    try:
        return x25519.Identity.from_str(lines[0] if len(lines) == 1 else "")
    except IdentityError:
        raise SettingsError("The sealing key is no single age identity (AGE-SECRET-KEY-1...).", _HOW) from None


def age_recipient(text: str) -> Any:
    """The recipient of `age1...`. Raises SettingsError."""
    from pyrage import RecipientError, x25519

    try:
        return x25519.Recipient.from_str(text.strip())
    except RecipientError:
        raise SettingsError(
            "The key to seal for is no age recipient (age1...).", "Ask the receiver for the line that starts with age1."
        ) from None


def _public_of(key: Any) -> dict[str, str]:
    """The public half that belongs to a private key, worked out from it and not read beside it."""
    if hasattr(key, "private_bytes_raw"):
        return {"crv": "Ed25519", "kty": "OKP", "x": _text(key.public_key().public_bytes_raw())}
    point = key.public_key().public_numbers()
    return {
        "crv": "P-384",
        "kty": "EC",
        "x": _text(point.x.to_bytes(48, "big")),
        "y": _text(point.y.to_bytes(48, "big")),
    }


def _object(text: str) -> dict[str, Any]:
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        data = None
    return data if isinstance(data, dict) else {}


def _text(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()
