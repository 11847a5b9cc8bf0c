"""FHIR servers that documents are sent to, as `practice.yaml` names them under `endpoints`; never their secrets."""

from __future__ import annotations

import re
from ipaddress import ip_address
from typing import Annotated, Literal
from urllib.parse import urlsplit

from pydantic import AfterValidator, Field, model_validator

from bridge.visit.base import Model, Short

_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_PORTS = range(1, 65_536)

Whose = Literal["recipient", "next clinic", "own"]
Takes = Literal["document", "transaction"]


def _name(text: str) -> str:
    if not _NAME.fullmatch(text) or len(text) > 40:
        raise ValueError("is made of small letters and digits with hyphens between, such as brook-lane")
    return text


def _address(text: str) -> str:
    try:
        parts = urlsplit(text)
        sound = parts.scheme in ("https", "http") and parts.hostname and (parts.port is None or parts.port in _PORTS)
    except ValueError:
        sound = False
    if not sound or parts.query or parts.fragment or "@" in parts.netloc or re.search(r"\s", text):
        raise ValueError("is no address of a server, such as https://fhir.example.org/r4")
    return text.rstrip("/")


Address = Annotated[str, Field(max_length=500), AfterValidator(_address)]


def is_loopback(address: str) -> bool:
    """Whether a web address names this machine by its number, or as localhost."""
    host = urlsplit(address).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


class Smart(Model):
    """How we are known where SMART backend services hold (private_key_jwt); the key is a secret of the endpoint."""

    client_id: Short
    scope: Short = "system/Bundle.c system/Bundle.rs"
    token_address: Address | None = None
    """Where tokens are given; by default the server's own .well-known/smart-configuration says."""
    key_id: Short | None = None
    """The `kid` under which the server knows the key; by default that of the key, else its thumbprint (RFC 7638)."""


class Endpoint(Model):
    """One server, what is sent there, and how it knows us."""

    name: Annotated[str, AfterValidator(_name)]
    address: Address
    """The base under which its resources stand."""
    organisation: Short | None = None
    """Whose it is: a key, name or code of the address book. Rows of the address book may name the endpoint as well."""
    whose: Whose = "recipient"
    """next clinic: may get a client's whole record, by the client's consent. own: the practice's own record."""
    takes: Takes = "document"
    """document: a Bundle as a resource. transaction: its entries one by one, all or none."""
    seconds: Annotated[int, Field(ge=1, le=300)] = 30
    """How long one answer may take."""
    patience: Annotated[int, Field(ge=0, le=3600)] = 120
    """How long a busy server is waited for, in seconds, over all attempts."""
    authority: Short | None = None
    """Certificates (PEM) of the authority that the server's own is from, seen from the practice folder."""
    certificate: Short | None = None
    """Our own certificate with its key (PEM) where the server asks for one, seen from the practice folder."""
    sign_in: Literal["none", "token", "smart"] = "none"
    smart: Smart | None = None
    without_tls: bool = False
    """Lets an address of this very machine be http, for trials."""

    @model_validator(mode="after")
    def _together(self) -> Endpoint:
        if (self.sign_in == "smart") != (self.smart is not None):
            raise ValueError("needs sign_in: smart and the settings smart together, or neither")
        for address in (self.address, self.smart.token_address if self.smart else None):
            if address and not self.may_go(address):
                raise ValueError("is not https (http goes to this very machine only, with without_tls: true)")
        return self

    def may_go(self, address: str) -> bool:
        """Whether anything may be sent to an address: over TLS, or to this machine where the settings say so."""
        return address.startswith("https://") or (self.without_tls and is_loopback(address))
