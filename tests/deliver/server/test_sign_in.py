"""Signing in: a token of ours, or one by SMART backend services. The server here is strict, and checks assertions with
steps of its own on `cryptography`, by the published text and not by our code.

Oracle: HL7 SMART App Launch 2.2.0, "Client Authentication: Asymmetric": header alg, kid, typ=JWT; claims iss = sub =
client_id, aud = token URL, exp at most five minutes ahead, jti used once.
"""

from __future__ import annotations

import base64
import hashlib
import json
import time
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from pytest_httpserver import HTTPServer
from werkzeug import Request, Response

from bridge.sending import Sent
from tests.deliver.server.at_work import as_bytes, made, practice_folder, sender

SUMMARY = as_bytes(made("M26-0101"))
NONE = {"resourceType": "Bundle", "type": "searchset", "total": 0}
Key = ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey
EC, RSA = ec.generate_private_key(ec.SECP384R1()), rsa.generate_private_key(65537, 2048)


def number(value: int, size: int | None = None) -> str:
    return base64.urlsafe_b64encode(value.to_bytes(size or (value.bit_length() + 7) // 8)).rstrip(b"=").decode()


def jwk(key: Key, **more: str) -> str:
    if isinstance(key, ec.EllipticCurvePrivateKey):
        told = key.private_numbers()
        public, d = told.public_numbers, told.private_value
        points = {"x": number(public.x, 48), "y": number(public.y, 48), "d": number(d, 48)}
        return json.dumps({"kty": "EC", "crv": "P-384", **points, **more})
    rsa_told = key.private_numbers()
    n, e = rsa_told.public_numbers.n, rsa_told.public_numbers.e
    parts = {
        "n": n, "e": e, "d": rsa_told.d, "p": rsa_told.p, "q": rsa_told.q, "dp": rsa_told.dmp1, "dq": rsa_told.dmq1,
        "qi": rsa_told.iqmp,
    }  # fmt: skip
    return json.dumps({"kty": "RSA", **{name: number(value) for name, value in parts.items()}, **more})


def pem(key: Key) -> str:
    form = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    return key.private_bytes(*form).decode()


def thumbprint(key: Key) -> str:
    """RFC 7638: the SHA-256 of the required members in order, without blanks."""
    members = json.loads(jwk(key))
    wanted = ("crv", "kty", "x", "y") if members["kty"] == "EC" else ("e", "kty", "n")
    told = json.dumps({name: members[name] for name in wanted}, separators=(",", ":"), sort_keys=True)
    return base64.urlsafe_b64encode(hashlib.sha256(told.encode()).digest()).rstrip(b"=").decode()


def unpacked(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


class Server:
    """Gives tokens to one client, strictly, and takes documents with such a token alone."""

    def __init__(self, http: HTTPServer, key: Key, client: str = "millbrook", **said: Any) -> None:
        self.http, self.key, self.client, self.said = http, key, client, said
        self.headers, self.tokens, self.jtis = list[dict[str, Any]](), list[str](), set[str]()
        self.seconds, self.refuse = 300, ""
        http.expect_request("/r4/.well-known/smart-configuration").respond_with_handler(self.configuration)
        http.expect_request("/token", method="POST").respond_with_handler(self.token)
        http.expect_request("/r4/Bundle").respond_with_handler(self.bundle)

    def configuration(self, request: Request) -> Response:
        assert "Authorization" not in request.headers
        told = {"token_endpoint": self.http.url_for("/token"), **self.said}
        return Response(json.dumps(told), content_type="application/json")

    def token(self, request: Request) -> Response:
        form = {name: values[0] for name, values in parse_qs(request.get_data(as_text=True)).items()}
        problem = self.refuse or self.problem(form)
        if problem:
            quoted = f"assertion {form.get('client_assertion')}: {problem}"
            told = {"error": "invalid_client", "error_description": quoted}
            return Response(json.dumps(told), 400, content_type="application/json")
        self.tokens.append(f"token-{len(self.tokens)}")
        told = {"access_token": self.tokens[-1], "token_type": "bearer", "expires_in": self.seconds}
        return Response(json.dumps(told), content_type="application/json")

    def problem(self, form: dict[str, str]) -> str:
        if form.get("grant_type") != "client_credentials" or not form.get("scope"):
            return "grant"
        if form.get("client_assertion_type") != "urn:ietf:params:oauth:client-assertion-type:jwt-bearer":
            return "type"
        head, claims, signature = form["client_assertion"].split(".")
        header, told = json.loads(unpacked(head)), json.loads(unpacked(claims))
        self.headers.append(header)
        if header.get("typ") != "JWT" or not header.get("kid"):
            return "header"
        if told["iss"] != self.client or told["sub"] != self.client or told["aud"] != self.http.url_for("/token"):
            return "claims"
        if not time.time() < told["exp"] <= time.time() + 300 or told["jti"] in self.jtis:
            return "time or replay"
        self.jtis.add(told["jti"])
        try:
            self.check(header["alg"], f"{head}.{claims}".encode(), unpacked(signature))
        except (InvalidSignature, AssertionError):
            return "signature"
        return ""

    def check(self, algorithm: str, signed: bytes, signature: bytes) -> None:
        public = self.key.public_key()
        if isinstance(public, ec.EllipticCurvePublicKey):
            assert (algorithm, len(signature)) == ("ES384", 96)
            r, s = (int.from_bytes(half) for half in (signature[:48], signature[48:]))
            public.verify(encode_dss_signature(r, s), signed, ec.ECDSA(hashes.SHA384()))
        else:
            assert algorithm == "RS384"
            public.verify(signature, signed, padding.PKCS1v15(), hashes.SHA384())

    def bundle(self, request: Request) -> Response:
        if request.headers.get("Authorization") not in [f"Bearer {t}" for t in self.tokens]:
            return Response("", 401)
        return Response(json.dumps(NONE), 200 if request.method == "GET" else 201, content_type="application/fhir+json")

    def send(self, tmp_path: Path, times: int = 1, **settings: Any) -> Sent:
        end = {
            "name": "there", "address": self.http.url_for("/r4"), "organisation": "AG", "without_tls": True,
            "sign_in": "smart", "smart": {"client_id": "millbrook"}, **settings,
        }  # fmt: skip
        at_hand = sender(practice_folder(tmp_path, end), "there", again=True)
        for _ in range(times):
            sent = at_hand.send(tmp_path / "M.json", SUMMARY)
        return sent


def rules(sent: Sent) -> list[str]:
    return [i.rule for i in sent.issues]


def keep(monkeypatch: pytest.MonkeyPatch, value: str, what: str = "KEY") -> None:
    monkeypatch.setenv(f"VISIT_BRIDGE_SEND_THERE_{what}", value)


@pytest.mark.parametrize("key", [EC, RSA], ids=["ES384", "RS384"])
@pytest.mark.parametrize("form", [jwk, pem])
def test_with_a_key(
    httpserver: HTTPServer, key: Key, form: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(monkeypatch, form(key))
    there = Server(httpserver, key, token_endpoint_auth_signing_alg_values_supported=["RS384", "ES384"])
    sent = there.send(tmp_path)
    assert (sent.state, sent.issues, len(there.tokens)) == ("accepted", [], 1)
    assert there.headers[0]["kid"] == thumbprint(key)


def test_the_name_of_the_key(httpserver: HTTPServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(monkeypatch, jwk(EC, kid="of-the-key"))
    there = Server(httpserver, EC)
    there.send(tmp_path)
    there.send(tmp_path, smart={"client_id": "millbrook", "key_id": "of-the-settings"})
    assert [h["kid"] for h in there.headers] == ["of-the-key", "of-the-settings"]


def test_a_token_is_used_until_it_ends(httpserver: HTTPServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(monkeypatch, jwk(EC))
    there = Server(httpserver, EC)
    assert there.send(tmp_path, 3).state == "accepted"
    assert len(there.tokens) == 1
    there.seconds = 5
    assert there.send(tmp_path).state == "accepted"
    assert len(there.tokens) == len(there.jtis) == 3


def test_the_address_of_the_settings(httpserver: HTTPServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(monkeypatch, jwk(EC))
    there = Server(httpserver, EC, token_endpoint="https://elsewhere.example.org/token")  # noqa: S106
    smart = {"client_id": "millbrook", "token_address": httpserver.url_for("/token")}
    assert there.send(tmp_path, smart=smart).state == "accepted"


def small() -> str:
    return pem(rsa.generate_private_key(65537, 1024))  # noqa: S505  # what is to be refused


@pytest.mark.parametrize(
    "key",
    ["", "no key", "{}", "{", jwk(EC)[:-40], '{"kty": "oct", "k": "AAAA"}',
     pem(ec.generate_private_key(ec.SECP256R1())), small(),
     json.dumps({k: v for k, v in json.loads(jwk(EC)).items() if k != "d"})],
    ids=["none", "words", "nothing", "broken", "cut", "oct", "P-256", "1024 bits", "public"],
)  # fmt: skip
def test_keys_that_cannot_be_used(
    httpserver: HTTPServer, key: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(monkeypatch, key)
    there = Server(httpserver, EC)
    sent = there.send(tmp_path)
    assert (sent.state, rules(sent), there.tokens) == ("not sent", ["D223"], [])
    assert not key or key not in sent.issues[0].message


def test_a_key_that_the_server_does_not_know(
    httpserver: HTTPServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it says of that may quote the assertion, and is not told."""
    keep(monkeypatch, jwk(EC))
    there = Server(httpserver, ec.generate_private_key(ec.SECP384R1()))
    sent = there.send(tmp_path)
    assert (sent.state, rules(sent)) == ("not sent", ["D223"])
    assert sent.issues[0].message == "there: no token was given (invalid_client, HTTP 400)."
    receipt = (tmp_path / "M.there.receipt.json").read_text()
    assert "eyJ" not in f"{sent.issues}{receipt}"


@pytest.mark.parametrize("said", [
    {"token_endpoint": "http://fhir.example.org/token"}, {"token_endpoint": 7},
    {"token_endpoint": "https://" + "x" * 900},
    {"token_endpoint_auth_signing_alg_values_supported": ["RS384"]},
])  # fmt: skip
def test_configurations_that_are_not_followed(
    httpserver: HTTPServer, said: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(monkeypatch, jwk(EC))
    there = Server(httpserver, EC, **said)
    sent = there.send(tmp_path)
    assert (sent.state, rules(sent), there.tokens) == ("not sent", ["D223"], [])


@pytest.mark.parametrize("said", [
    {"access_token": "a b", "token_type": "bearer"}, {"access_token": "x\r\nX-Evil: y", "token_type": "bearer"},
    {"access_token": 7, "token_type": "bearer"}, {"access_token": "x", "token_type": "mac"}, {}, [],
])  # fmt: skip
def test_tokens_that_are_none(
    httpserver: HTTPServer, said: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(monkeypatch, jwk(EC))
    httpserver.expect_ordered_request("/r4/.well-known/smart-configuration").respond_with_json(
        {"token_endpoint": httpserver.url_for("/token")}
    )
    httpserver.expect_ordered_request("/token").respond_with_json(said)
    end = {
        "name": "there", "address": httpserver.url_for("/r4"), "organisation": "AG", "without_tls": True,
        "sign_in": "smart", "smart": {"client_id": "millbrook"},
    }  # fmt: skip
    sent = sender(practice_folder(tmp_path, end), "there").send(tmp_path / "M.json", SUMMARY)
    assert (sent.state, rules(sent)) == ("not sent", ["D223"])


def test_a_token_of_ours(httpserver: HTTPServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    there = Server(httpserver, EC)
    there.tokens.append("given-by-hand")
    without = there.send(tmp_path, sign_in="token", smart=None)
    assert (without.state, rules(without)) == ("not sent", ["D223"])
    assert "send-there-token" in without.issues[0].message
    keep(monkeypatch, "given-by-hand\n", "TOKEN")
    sent = there.send(tmp_path, sign_in="token", smart=None)
    assert sent.state == "accepted"
    assert "given-by-hand" not in (tmp_path / "M.there.receipt.json").read_text()


def test_a_token_that_ended_is_refused(httpserver: HTTPServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(monkeypatch, "an-old-one", "TOKEN")
    sent = Server(httpserver, EC).send(tmp_path, sign_in="token", smart=None)
    assert (sent.state, rules(sent)) == ("refused", ["D224"])
    assert "it does not know us (HTTP 401)" in sent.issues[0].message
