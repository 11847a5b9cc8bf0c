"""One request to one server, with bounds on time, size and whereto; what is not known to have stayed here is in doubt.

Sources: https://hl7.org/fhir/R4/http.html, RFC 9110 (15.4, redirection), RFC 9112 (9.3, persistence of connections).
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import SplitResult, urljoin, urlsplit

from bridge.practice.endpoints import is_loopback

if TYPE_CHECKING:
    import requests

MOST_BYTES = 20_000_000
FHIR_JSON = "application/fhir+json"
_HOPS = 3
_PIECE = 16_384
_KEPT_HEADERS = ("location", "etag", "retry-after", "x-request-id")


class NotSentError(Exception):
    """No connection came about, so that nothing of the request has left; the text says why, without an address."""


class NotTrustedError(NotSentError):
    """The server did not show a certificate that can be trusted, or did not take ours."""


class ElsewhereError(Exception):
    """The server sends us on to another place, and nobody followed."""


class LostError(Exception):
    """The request may have arrived, and no whole answer came."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a server answered. `data` is None where the body is no JSON object."""

    status: int
    data: Any = None
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Way:
    """How a server is reached."""

    may_go: Callable[[str], bool]
    """Whether anything may be sent to an address at all."""
    seconds: float = 30
    authority: Path | None = None
    certificate: Path | None = None


class Wire:
    """Connections to one server. Nobody's log-in from a .netrc, no cookies, no repeats; proxies as the environment says
    (HTTPS_PROXY, NO_PROXY), but never to this very machine."""

    def __init__(self, way: Way) -> None:
        self._way = way
        self._session: requests.Session | None = None

    def ask(self, method: str, url: str, headers: Mapping[str, str], body: bytes | None = None) -> Answer:
        """The answer, which may be any status.

        Raises NotSentError (NotTrustedError), ElsewhereError, LostError. The time holds for the whole answer, however
        slowly it drips; one that is too long counts as lost.
        """
        result: list[Answer | Exception] = []

        def run() -> None:
            try:
                result.append(self._follow(method, url, headers, body))
            except Exception as error:  # told to the thread that waits
                result.append(error)

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        thread.join(self._way.seconds * 2)
        if not result:
            self.close()
            raise LostError("no whole answer came in time")
        if isinstance(result[0], Exception):
            raise result[0]
        return result[0]

    def close(self) -> None:
        """Lets go of the connections."""
        if self._session is not None:
            self._session.close()
            self._session = None

    def _follow(self, method: str, url: str, headers: Mapping[str, str], body: bytes | None) -> Answer:
        start = url
        for _ in range(_HOPS):
            if not self._way.may_go(url):
                raise NotSentError("the address is not https")
            answer = self._once(method, url, headers, body)
            if answer.status not in (301, 302, 303, 307, 308):
                return answer
            url = _joined(url, answer.headers.get("location", ""))
            if not same_place(url, start):
                raise ElsewhereError("the server sends us on to another address, which was not followed")
            if body is not None and answer.status not in (307, 308):
                raise ElsewhereError("the server sends us on in a way that would lose what is sent")
        raise ElsewhereError("the server sends us on and on")

    def _once(self, method: str, url: str, headers: Mapping[str, str], body: bytes | None) -> Answer:
        import requests

        seconds, sent = self._way.seconds, _Body(body) if body is not None else None
        try:
            with self._open().request(
                method, url, headers=dict(headers), data=sent, timeout=(min(seconds, 10), seconds), stream=True,
                allow_redirects=False, verify=str(self._way.authority) if self._way.authority else True,
                cert=str(self._way.certificate) if self._way.certificate else None, proxies=_proxies(url),
            ) as answer:  # fmt: skip
                return _whole(answer)
        except (requests.RequestException, OSError, ValueError) as error:
            raise _meaning(error, sent is not None and sent.begun) from None

    def _open(self) -> requests.Session:
        if self._session is None:
            from http.cookiejar import DefaultCookiePolicy

            import requests
            from requests.adapters import HTTPAdapter

            session = requests.Session()
            session.trust_env = False
            session.get_redirect_target = lambda resp: None  # type: ignore[method-assign]  # where to is judged in _follow
            session.cookies.set_policy(DefaultCookiePolicy(allowed_domains=[]))
            session.headers.clear()
            session.headers.update({"User-Agent": "visit-bridge", "Accept": FHIR_JSON, "Accept-Encoding": "identity"})
            for scheme in ("http://", "https://"):
                session.mount(scheme, HTTPAdapter(max_retries=0))
            self._session = session
        return self._session


class _Body(BytesIO):
    """What is sent; knows whether any of it was taken to be sent, which is after the connection stands."""

    begun = False

    def read(self, size: int | None = -1) -> bytes:
        self.begun = True
        return super().read(size)


def _meaning(error: Exception, begun: bool) -> Exception:
    """What an error of the transport means; `begun`: whether any of the body may have left."""
    import requests

    if begun:
        return LostError("the connection broke, or took too long, before a whole answer came")
    if isinstance(error, requests.exceptions.SSLError):
        return NotTrustedError("the server's certificate cannot be trusted, or it did not take ours")
    if isinstance(error, ValueError) and not isinstance(error, requests.RequestException):
        return LostError("the answer has a head that cannot be read")
    if not isinstance(error, requests.RequestException):  # a file of certificates that cannot be read
        return NotTrustedError("the certificates that the settings name cannot be read")
    return NotSentError("nobody answers at the address")


def _joined(url: str, location: str) -> str:
    """Where a Location leads; empty, which is no place, where it is none."""
    try:
        return urljoin(url, location)
    except ValueError:
        return ""


def same_place(url: str, other: str) -> bool:
    """Whether both have the same scheme, host and port."""
    try:
        one, two = urlsplit(url), urlsplit(other)
        return (one.scheme, one.hostname, _port(one)) == (two.scheme, two.hostname, _port(two))
    except ValueError:
        return False


def _port(parts: SplitResult) -> int | None:
    return parts.port or {"http": 80, "https": 443}.get(parts.scheme)


def _proxies(url: str) -> dict[str, str]:
    from requests.utils import get_environ_proxies

    return {} if is_loopback(url) else get_environ_proxies(url)


def _whole(answer: requests.Response) -> Answer:
    content = bytearray()
    for piece in answer.iter_content(_PIECE):
        content += piece
        if len(content) > MOST_BYTES:
            raise LostError("the answer is too long")
    headers = {name: answer.headers[name][:500] for name in _KEPT_HEADERS if name in answer.headers}
    try:
        data = json.loads(content) if content else None
    except (ValueError, RecursionError):
        data = None
    return Answer(answer.status_code, data if isinstance(data, dict) else None, headers)
