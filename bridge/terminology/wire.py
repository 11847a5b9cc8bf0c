"""One question to a server over HTTP, with bounds on time, size and whereto."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any
from urllib.parse import SplitResult, urljoin, urlsplit

from bridge.shapes import Json

if TYPE_CHECKING:
    import requests

MOST_BYTES = 2_000_000
_HOPS = 3
_ACCEPT = "application/fhir+json"


class SlowError(Exception):
    """No answer in time."""


class UnreachableError(Exception):
    """Nobody answers at the address, or not over a connection that can be trusted."""


class UnclearError(Exception):
    """An answer that cannot be understood; the text says what it is."""


class Wire:
    """A server at one address. Nothing is kept between questions but the connection: no cookies, no log-in."""

    def __init__(self, address: str, seconds: float) -> None:
        self.address, self.seconds = address.rstrip("/"), seconds
        self._session: requests.Session | None = None

    def ask(self, path: str, question: dict[str, str]) -> tuple[int, Json]:
        """HTTP status and the JSON object that came. Raises SlowError, UnreachableError, UnclearError.

        The time holds for the whole answer, name look-up and redirects included, however slowly it drips.
        """
        result: list[tuple[int, Json] | Exception] = []
        given_up = threading.Event()

        def run() -> None:
            try:
                result.append(self._ask(path, question, given_up))
            except Exception as error:  # told to the thread that waits
                result.append(error)

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        thread.join(self.seconds)
        if not result:
            given_up.set()
            raise SlowError
        if isinstance(result[0], Exception):
            raise result[0]
        return result[0]

    def _ask(self, path: str, question: dict[str, str], given_up: threading.Event) -> tuple[int, Json]:
        import requests

        try:
            return self._twice(f"{self.address}/{path}", question, given_up)
        except requests.Timeout:
            raise SlowError from None
        except (requests.exceptions.ChunkedEncodingError, requests.exceptions.ContentDecodingError):
            raise UnclearError("breaks off") from None
        except requests.ConnectionError:
            raise UnreachableError from None
        except requests.RequestException:
            raise UnclearError("is no answer of a web server") from None

    def _twice(self, url: str, question: dict[str, str], given_up: threading.Event) -> tuple[int, Json]:
        """Once more where the server hung up, as one does that kept the connection too long; never where it is slow."""
        import requests

        try:
            return self._follow(url, question)
        except requests.Timeout:
            raise
        except requests.ConnectionError:
            if given_up.is_set():
                raise
            return self._follow(url, question)

    def _follow(self, url: str, question: dict[str, str] | None) -> tuple[int, Json]:
        session = self._open()
        for _ in range(_HOPS):
            with session.get(
                url, params=question, timeout=(self.seconds, self.seconds), stream=True, allow_redirects=False
            ) as answer:
                if not answer.is_redirect:
                    return answer.status_code, _object(answer)
                url, question = urljoin(url, answer.headers["location"]), None
                if not _same_place(url, self.address):
                    raise UnclearError("sends us on to another address")
        raise UnclearError("sends us on and on")

    def _open(self) -> requests.Session:
        if self._session is None:
            from http.cookiejar import DefaultCookiePolicy

            import requests

            session = requests.Session()
            session.auth = lambda request: request  # nobody's log-in from a .netrc goes out
            session.cookies.set_policy(DefaultCookiePolicy(allowed_domains=[]))
            session.headers.update({"Accept": _ACCEPT, "Accept-Encoding": "identity", "User-Agent": "visit-bridge"})
            self._session = session
        return self._session


def _same_place(url: str, other: str) -> bool:
    """Whether both have the same scheme, host and port."""
    try:
        one, two = urlsplit(url), urlsplit(other)
        return (one.scheme, one.hostname, _port(one)) == (two.scheme, two.hostname, _port(two))
    except ValueError:
        return False


def _port(parts: SplitResult) -> int | None:
    return parts.port or {"http": 80, "https": 443}.get(parts.scheme)


def _object(answer: requests.Response) -> Json:
    import json

    if "json" not in answer.headers.get("content-type", "").lower():
        raise UnclearError(f"is not JSON (HTTP {answer.status_code})")
    content = b""
    for piece in answer.iter_content(16_384):
        content += piece
        if len(content) > MOST_BYTES:
            raise UnclearError("is too long")
    try:
        data: Any = json.loads(content)
    except (ValueError, RecursionError):
        raise UnclearError("is broken JSON") from None
    if not isinstance(data, dict):
        raise UnclearError("is no resource")
    return data
