"""The signature over the bytes of manifest.json: a compact JWS whose middle part is left out (RFC 7515, appendix F).

Appendix F and not RFC 7797: put base64url(manifest.json) between the two dots and it is an ordinary JWS, which every
JOSE library reads; `b64: false` has to be understood by the library, and many do not. The algorithm stands as `EdDSA`
(RFC 8037), since older libraries do not know `Ed25519` yet (RFC 9864); both are taken. The header carries the public
key, so anybody can see that nothing was changed since; whose key it is, only its fingerprint tells.
"""

from __future__ import annotations

import json
import re
import warnings
from typing import Any

from bridge.parcel.keys import KINDS, SigningKey, fingerprint_of, public_part
from bridge.parcel.shapes import Signer

LONGEST = 16_384

_DETACHED = re.compile(rb"([A-Za-z0-9_-]+)\.\.([A-Za-z0-9_-]+)\r?\n?\Z")
_KNOWN_HEADERS = {"alg", "jwk", "kid", "typ"}


class UnacceptableError(ValueError):
    """The signature is of a form or a kind that proves nothing; the words say what."""


class WrongError(ValueError):
    """The signature does not belong to these bytes."""


def sign(manifest: bytes, key: SigningKey) -> bytes:
    """The detached signature, one line. Ed25519 gives the same bytes every time, ES384 other ones each time."""
    from joserfc import jws

    header = {"alg": key.alg, "jwk": dict(key.public), "kid": key.fingerprint}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        whole = jws.serialize_compact(header, manifest, _imported(key.private), algorithms=[key.alg])
    return jws.detach_content(whole).encode() + b"\n"


def verify(manifest: bytes, signature: bytes) -> Signer:
    """Whose key signed exactly these bytes. Raises UnacceptableError or WrongError."""
    found = _DETACHED.match(signature) if len(signature) <= LONGEST else None
    if found is None:
        raise UnacceptableError("it is no detached JWS")
    header = _header(found[1])
    alg = header.get("alg")
    if not isinstance(alg, str) or alg not in KINDS:
        raise UnacceptableError("its algorithm is none of EdDSA, Ed25519 and ES384")
    if set(header) - _KNOWN_HEADERS:
        raise UnacceptableError("its header asks for more than is understood here")
    jwk = header.get("jwk")
    public = public_part(jwk) if isinstance(jwk, dict) and "d" not in jwk else None
    if public is None or (public["kty"], public["crv"]) != KINDS[alg]:
        raise UnacceptableError("its header carries no public key that fits the algorithm")
    if "kid" in header and header["kid"] != fingerprint_of(public):
        raise UnacceptableError("its header names another key than it carries")
    _hold(manifest, found[0].strip(), public, alg)
    return Signer(fingerprint_of(public), alg, public)


def _hold(manifest: bytes, detached: bytes, public: dict[str, str], alg: str) -> None:
    from joserfc import jws
    from joserfc.errors import JoseError

    try:
        key = _imported(public)
    except (ValueError, JoseError):
        raise UnacceptableError("the key in its header is no key") from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            jws.deserialize_compact(detached, key, algorithms=[alg], payload=manifest)
    except (ValueError, JoseError):
        raise WrongError from None


def _imported(key: Any) -> Any:
    from joserfc.jwk import import_key

    return import_key(dict(key))


def _header(encoded: bytes) -> dict[str, Any]:
    import base64

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        if len(dict(pairs)) < len(pairs):
            raise ValueError
        return dict(pairs)

    try:
        raw = base64.urlsafe_b64decode(encoded + b"=" * (-len(encoded) % 4))
        header = json.loads(raw, object_pairs_hook=once)
    except (ValueError, RecursionError):
        header = None
    if not isinstance(header, dict):
        raise UnacceptableError("its header cannot be read")
    return header
