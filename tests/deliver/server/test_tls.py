"""Whom we talk to: certificates of a server that is, and is not, who it says; and our own, where it asks for one."""

from __future__ import annotations

import json
import os
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import trustme
from pytest_httpserver import HTTPServer
from werkzeug import Request, Response

from bridge.errors import SettingsError
from bridge.sending import Sent
from tests.deliver.server.at_work import as_bytes, made, practice_folder, sender

SUMMARY = as_bytes(made("M26-0101"))
NONE = json.dumps({"resourceType": "Bundle", "type": "searchset", "total": 0})


@contextmanager
def server(cert: trustme.LeafCert, clients: trustme.CA | None = None) -> Iterator[tuple[HTTPServer, list[Request]]]:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    cert.configure_cert(context)
    if clients:
        context.verify_mode = ssl.CERT_REQUIRED
        clients.configure_trust(context)
    seen: list[Request] = []

    def handle(request: Request) -> Response:
        seen.append(request)
        return Response(NONE, 200 if request.method == "GET" else 201, {"Content-Type": "application/fhir+json"})

    with HTTPServer(host="127.0.0.1", port=0, ssl_context=context) as made_of:
        made_of.expect_request("/r4/Bundle").respond_with_handler(handle)
        yield made_of, seen


def send(there: HTTPServer, tmp_path: Path, host: str = "localhost", **settings: Any) -> Sent:
    address = f"https://{host}:{there.port}/r4"
    endpoint = {"name": "there", "address": address, "organisation": "AG", **settings}
    folder = practice_folder(tmp_path, endpoint)
    (tmp_path / "M.json").write_bytes(SUMMARY)
    return sender(folder, "there").send(tmp_path / "M.json", SUMMARY)


def rules(sent: Sent) -> list[str]:
    return [i.rule for i in sent.issues]


@pytest.fixture(scope="module")
def ca() -> trustme.CA:
    return trustme.CA()


def authority(ca: trustme.CA, tmp_path: Path) -> str:
    ca.cert_pem.write_to_path(tmp_path / "authority.pem")
    return "authority.pem"


def test_an_authority_of_its_own(ca: trustme.CA, tmp_path: Path) -> None:
    with server(ca.issue_cert("localhost")) as (there, seen):
        sent = send(there, tmp_path, authority=authority(ca, tmp_path))
    assert (sent.state, [r.method for r in seen]) == ("accepted", ["GET", "POST"])


def test_one_that_nobody_vouches_for(ca: trustme.CA, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not even where the environment names its authority: the settings alone decide."""
    monkeypatch.setenv("REQUESTS_CA_BUNDLE", str(tmp_path / authority(ca, tmp_path)))
    with server(ca.issue_cert("localhost")) as (there, seen):
        sent = send(there, tmp_path)
    assert (sent.state, rules(sent), seen) == ("not sent", ["D221"], [])


def test_of_another_authority(ca: trustme.CA, tmp_path: Path) -> None:
    with server(trustme.CA().issue_cert("localhost")) as (there, seen):
        sent = send(there, tmp_path, authority=authority(ca, tmp_path))
    assert (rules(sent), seen) == (["D221"], [])


def test_expired(ca: trustme.CA, tmp_path: Path) -> None:
    past = datetime.now(UTC) - timedelta(days=1)
    with server(ca.issue_cert("localhost", not_before=past - timedelta(days=9), not_after=past)) as (there, seen):
        sent = send(there, tmp_path, authority=authority(ca, tmp_path))
    assert (rules(sent), seen) == (["D221"], [])


def test_of_another_name(ca: trustme.CA, tmp_path: Path) -> None:
    with server(ca.issue_cert("fhir.example.org")) as (there, seen):
        sent = send(there, tmp_path, authority=authority(ca, tmp_path))
    assert (rules(sent), seen) == (["D221"], [])


def own(ca: trustme.CA, tmp_path: Path, mode: int = 0o600) -> str:
    path = tmp_path / "own.pem"
    ca.issue_cert("millbrook.example.org").private_key_and_cert_chain_pem.write_to_path(path)
    path.chmod(mode)
    return "own.pem"


def test_our_own_certificate(ca: trustme.CA, tmp_path: Path) -> None:
    with server(ca.issue_cert("localhost"), clients=ca) as (there, seen):
        without = send(there, tmp_path, authority=authority(ca, tmp_path))
        assert (without.state, rules(without), seen) == ("not sent", ["D221"], [])
        wrong = send(there, tmp_path, authority="authority.pem", certificate=own(trustme.CA(), tmp_path))
        assert (rules(wrong), seen) == (["D221"], [])
        sent = send(there, tmp_path, authority="authority.pem", certificate=own(ca, tmp_path))
    assert (sent.state, [r.method for r in seen]) == ("accepted", ["GET", "POST"])


@pytest.mark.skipif(os.name != "posix", reason="modes of files are those of POSIX")
def test_our_own_certificate_open_to_others(ca: trustme.CA, tmp_path: Path) -> None:
    with (
        server(ca.issue_cert("localhost"), clients=ca) as (there, seen),
        pytest.raises(SettingsError, match="by others"),
    ):
        send(there, tmp_path, authority=authority(ca, tmp_path), certificate=own(ca, tmp_path, 0o644))
    assert seen == []


@pytest.mark.parametrize("content", [b"", b"no certificate"])
def test_files_that_are_no_certificates(ca: trustme.CA, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "bad.pem").write_bytes(content)
    with server(ca.issue_cert("localhost")) as (there, seen):
        sent = send(there, tmp_path, authority="bad.pem")
    assert (rules(sent), seen) == (["D221"], [])
    with server(ca.issue_cert("localhost")) as (there, seen), pytest.raises(SettingsError, match="not there"):
        send(there, tmp_path, authority="gone.pem")


def test_never_in_the_clear(tmp_path: Path) -> None:
    """From https to http of the same machine: another place."""
    ca = trustme.CA()
    with server(ca.issue_cert("localhost")) as (there, _), HTTPServer(host="127.0.0.1", port=0) as plain:
        there.clear()
        target = plain.url_for("/r4/Bundle")
        there.expect_request("/r4/Bundle").respond_with_data("", 307, {"Location": target})
        sent = send(there, tmp_path, authority=authority(ca, tmp_path))
        assert (rules(sent), plain.log) == (["D222"], [])
