"""How a server knows us: a bearer token, or one asked for by SMART backend services (private_key_jwt).

Source: HL7 SMART App Launch 2.2.0, "Backend Services" and "Client Authentication: Asymmetric"
(https://hl7.org/fhir/smart-app-launch/STU2.2/backend-services.html, client-confidential-asymmetric.html); RFC 6749
(5.2), RFC 7523.
"""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from bridge.deliver.server.wire import Answer, Wire
from bridge.practice.endpoints import Endpoint

if TYPE_CHECKING:
    from joserfc.jwk import ECKey, RSAKey

LONGEST = 300
"""How long an assertion may hold, in seconds: five minutes at the most."""
_HOLDS = 240
_SPARE = 30
_ASSERTION_TYPE = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"  # a name of the standard
_ERRORS = frozenset(
    {
        "invalid_request", "invalid_client", "invalid_grant", "unauthorized_client", "unsupported_grant_type",
        "invalid_scope", "temporarily_unavailable", "server_error",
    }
)  # fmt: skip


class SignInError(Exception):
    """No token was had; the text says why, without secrets."""


class SignIn:
    """Gives the header that says who we are. `secret`: the token, or the private key (JWK or PEM)."""

    def __init__(
        self, endpoint: Endpoint, secret: str | None, wire: Wire, now: Callable[[], float] = time.time
    ) -> None:
        self._endpoint, self._secret, self._wire, self._now = endpoint, secret, wire, now
        self._token, self._until = "", 0.0

    def header(self) -> dict[str, str]:
        """`Authorization`, or nothing where the server asks for nothing.

        Raises SignInError, and what Wire.ask raises.
        """
        if self._endpoint.sign_in == "none":
            return {}
        if not self._secret:
            what = "token" if self._endpoint.sign_in == "token" else "key"
            raise SignInError(f"there is no secret named send-{self._endpoint.name}-{what}")
        if self._endpoint.sign_in == "token":
            return {"Authorization": f"Bearer {_fit(self._secret)}"}
        if self._now() >= self._until:
            self._token, seconds = self._ask()
            self._until = self._now() + max(seconds - _SPARE, 0)
        return {"Authorization": f"Bearer {self._token}"}

    def _ask(self) -> tuple[str, float]:
        from urllib.parse import urlencode

        smart, key = self._endpoint.smart, _private_key(self._secret or "")
        assert smart is not None
        algorithm = "ES384" if key.key_type == "EC" else "RS384"
        address = self._token_address(algorithm)
        form = {
            "grant_type": "client_credentials", "scope": smart.scope, "client_assertion_type": _ASSERTION_TYPE,
            "client_assertion": _assertion(key, algorithm, smart.client_id, smart.key_id, address, self._now()),
        }  # fmt: skip
        headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "application/json"}
        return _token(self._wire.ask("POST", address, headers, urlencode(form).encode()))

    def _token_address(self, algorithm: str) -> str:
        smart = self._endpoint.smart
        assert smart is not None
        if smart.token_address:
            return smart.token_address
        url = f"{self._endpoint.address}/.well-known/smart-configuration"
        answer = self._wire.ask("GET", url, {"Accept": "application/json"})
        said: dict[str, Any] = answer.data or {}
        address, known = said.get("token_endpoint"), said.get("token_endpoint_auth_signing_alg_values_supported")
        if answer.status != 200 or not isinstance(address, str) or len(address) > 500:
            raise SignInError("the server does not say where tokens are given (.well-known/smart-configuration)")
        if not self._endpoint.may_go(address):
            raise SignInError("the server says that tokens are given at an address that is not https")
        if isinstance(known, list) and known and algorithm not in known:
            raise SignInError(f"the server takes no keys for {algorithm}")
        return address


def _private_key(text: str) -> ECKey | RSAKey:
    """An elliptic key on P-384 (ES384) or an RSA key of 2048 bits or more (RS384): what SMART names."""
    from joserfc.errors import JoseError
    from joserfc.jwk import ECKey, RSAKey

    key: ECKey | RSAKey | None = None
    with warnings.catch_warnings(action="ignore"):  # of short keys, which are refused below
        for kind in (ECKey, RSAKey):
            try:
                key = kind.import_key(_from_json(text))
                break
            except (JoseError, ValueError, TypeError, KeyError, AttributeError):
                continue
    if key is None or not key.is_private:
        raise SignInError("the key is no private key that could be read (JWK or PEM, without a passphrase)")
    if isinstance(key, ECKey) and key.curve_name != "P-384":
        raise SignInError("the key is not on the curve P-384, which ES384 needs")
    if isinstance(key, RSAKey) and key.raw_value.key_size < 2048:
        raise SignInError("the RSA key is shorter than 2048 bits")
    return key


def _from_json(text: str) -> Any:
    import json

    return json.loads(text) if text.lstrip().startswith("{") else text


def _assertion(key: ECKey | RSAKey, algorithm: str, client: str, key_id: str | None, address: str, now: float) -> str:
    from joserfc import jwt

    header = {"alg": algorithm, "kid": key_id or key.kid or key.thumbprint(), "typ": "JWT"}
    claims = {"iss": client, "sub": client, "aud": address, "exp": int(now) + _HOLDS, "jti": str(uuid4())}
    return jwt.encode(header, claims, key, algorithms=[algorithm])


def _token(answer: Answer) -> tuple[str, float]:
    said: dict[str, Any] = answer.data or {}
    token, seconds = said.get("access_token"), said.get("expires_in", LONGEST)
    if answer.status == 200 and isinstance(token, str) and str(said.get("token_type", "")).lower() == "bearer":
        return _fit(token), float(seconds) if isinstance(seconds, int | float) else LONGEST
    error = said.get("error")
    told = f"{error}, " if isinstance(error, str) and error in _ERRORS else ""
    raise SignInError(f"no token was given ({told}HTTP {answer.status})")


def _fit(token: str) -> str:
    """A token that can stand in a header."""
    if not token or len(token) > 16_000 or any(not "!" <= character <= "~" for character in token):
        raise SignInError("the token has signs in it that no token has")
    return token
