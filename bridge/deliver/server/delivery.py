"""One honest attempt to bring a bundle to a server: ask, send, judge. What is in doubt is found out, not repeated.

    ask --there--> accepted              busy, not reached --wait--> ask
     '--not there--> send --answer--> accepted | refused
                       '--no answer--> ask --cannot tell--> in doubt

Sources: https://hl7.org/fhir/R4/http.html#ccreate (If-None-Exist), #transaction, RFC 9110 (9.2.2, idempotent methods;
10.2.3, Retry-After).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Literal
from uuid import uuid4

from bridge.deliver.server.asking import Has, has_document, has_transaction, token
from bridge.deliver.server.outcome import EntryAnswer, entry_answers, place_told, reasons, tag_told, warned, what
from bridge.deliver.server.receipt import Receipt, Try, Verdict
from bridge.deliver.server.sign_in import SignIn, SignInError
from bridge.deliver.server.wire import (
    FHIR_JSON,
    Answer,
    ElsewhereError,
    LostError,
    NotSentError,
    NotTrustedError,
    Wire,
)
from bridge.practice.endpoints import Endpoint
from bridge.shapes import Json

MOST_TRIES = 5
SETTLING = 30
"""Seconds after which a server that says that it does not have what was sent is believed. It may take a while to store
what it did not answer, and until then finds nothing, and would store it once more."""
BUSY = frozenset({429, 503})
UNCLEAR = frozenset({408, 500, 502, 504})
"""Statuses that somebody on the way may have given while the server went on and took it."""
CREATED = 201
"""The one answer to a create that says it was stored; 200 is what a page to log in to some network has too."""
LATER = 202
"""It was taken in, and will be looked at some time: that is no yes."""
Why = Literal[
    "", "sign-in", "not reached", "not trusted", "elsewhere", "busy", "refused", "entries", "other", "in doubt"
]

_NO_ANSWER_YET = "no answer yet"
_VERDICTS: dict[str, Verdict] = {
    "": "accepted", "refused": "refused", "other": "refused", "entries": "in part", "in doubt": "in doubt",
}  # fmt: skip
_SAID: dict[Has, str] = {
    "yes": "it is there", "no": "it is not there", "other": "something else is there",
    "cannot tell": "the server does not say",
}  # fmt: skip


@dataclass(slots=True)
class Delivered:
    """What came of it; the receipt holds the rest."""

    why: Why = ""
    told: str = ""
    """Why it was not accepted, in a few words."""
    reasons: tuple[str, ...] = ()
    entries: list[EntryAnswer] = field(default_factory=list)
    """Of a transaction: the entries that were not taken."""
    found: bool = False
    """Whether it was there when we asked, and not told by an answer to the sending itself."""
    status: int = 0
    early: bool = False
    """Whether it was only asked, too soon to believe a "no"."""
    stopped: bool = False
    """Whether a person ended it while it was in doubt."""


@dataclass(slots=True)
class Clock:
    """Time, for tests to take over."""

    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    wait: Callable[[float], None] = time.sleep
    waiting: Callable[[Delivered, float], None] = lambda last, seconds: None
    """Told before each longer wait: what came of the try before, and how many seconds it is."""


class Delivery:
    """Brings one bundle to one endpoint.

    `keep` stores the receipt; it is called before anything of the bundle leaves, and may raise, which stops everything.
    `again`: what may have arrived already is sent once more even where the server does not say whether it has it.
    """

    def __init__(
        self,
        endpoint: Endpoint,
        wire: Wire,
        sign_in: SignIn,
        keep: Callable[[Receipt], None],
        clock: Clock,
        again: bool = False,
    ) -> None:
        self._endpoint, self._wire, self._sign_in, self._keep, self._clock = endpoint, wire, sign_in, keep, clock
        self._again, self._doubt = again, False

    def bring(self, bundle: Json, content: bytes, receipt: Receipt) -> Delivered:
        """Sets the verdict, the place and the tries of the receipt, and says what came of it.

        What was accepted once stays accepted, whatever becomes of sending it again. Ctrl-C while it is in doubt ends
        it with that answer; else the receipt is set right, and KeyboardInterrupt goes on.
        """
        before = receipt.verdict
        accepted, self._doubt = before == "accepted", before == "in doubt"
        try:
            done = self._bring(bundle, content, receipt)
        except KeyboardInterrupt:
            if not self._doubt:
                receipt.verdict = "not sent" if before == "in doubt" else before
                self._keep(receipt)
                raise
            done = self._stopped(receipt)
        if self._doubt and _VERDICTS.get(done.why) is None:
            done = _in_doubt(done.told)
        receipt.verdict = "accepted" if accepted else _VERDICTS.get(done.why, "not sent")
        self._keep(receipt)
        return done

    def _stopped(self, receipt: Receipt) -> Delivered:
        last = receipt.tries[-1] if receipt.tries else None
        if last and last.came == _NO_ANSWER_YET:
            last.came = "it was stopped here before an answer came"
        return Delivered("in doubt", "it was stopped here before it was known what became of it", stopped=True)

    def _bring(self, bundle: Json, content: bytes, receipt: Receipt) -> Delivered:
        patience, last = float(self._endpoint.patience), Delivered("not reached")
        tries = turns = 0
        while True:
            last, seconds = self._once(bundle, content, receipt)
            if last.why == "in doubt" and (receipt.tries[-1].did == "sent" or last.early):
                self._doubt = True
            elif last.why not in ("busy", "not reached"):
                return last
            if last.status == LATER:
                return last
            if 200 <= last.status < 300 and self._endpoint.takes == "document":
                self._clock.wait(1.0)
                return self._at_the_end(bundle, receipt, last)
            seconds = float(2**turns) if seconds is None else seconds
            tries, turns = tries + (not last.early), turns + 1
            if seconds > patience or tries == MOST_TRIES:
                break
            patience -= seconds
            self._clock.waiting(last, seconds)
            self._clock.wait(seconds)
        return self._at_the_end(bundle, receipt, last) if self._doubt else last

    def _once(self, bundle: Json, content: bytes, receipt: Receipt) -> tuple[Delivered, float | None]:
        """Asks, and sends where it is not there; how long the server wants to be left alone."""
        has = self._ask(bundle, receipt)
        if isinstance(has, Delivered):
            return has, None
        if has == "yes":
            return Delivered(found=True), None
        if has == "other":
            return Delivered("other", "something else stands there under the same identifier"), None
        if has == "cannot tell" and self._doubt and not self._again:
            return _in_doubt("the server does not say whether it has it"), None
        if has == "no" and self._doubt and not self._again:
            return Delivered("in doubt", "it was not there yet when the server was asked", early=True), None
        return self._send(bundle, content, receipt)

    def _at_the_end(self, bundle: Json, receipt: Receipt, last: Delivered) -> Delivered:
        has = self._ask(bundle, receipt)
        if has == "yes":
            return Delivered(found=True)
        unproved = 200 <= last.status < 300 and self._endpoint.takes == "document"
        if has != "no" or self._doubt or unproved:
            return _in_doubt(last.told, last.reasons, last.status)
        why = last.why if last.why != "in doubt" else "refused" if last.status else "not reached"
        return Delivered(why, last.told, last.reasons, status=last.status)

    def _early(self, receipt: Receipt) -> bool:
        """Whether a server may still be at work on what was sent last and not answered: its "no" proves nothing yet."""
        doubted = [one.at for one in receipt.tries if one.did == "sent" and one.status not in BUSY]
        try:
            ago = self._clock.now() - datetime.fromisoformat(doubted[-1])
        except (IndexError, ValueError, TypeError):
            return False
        return 0 <= ago.total_seconds() < SETTLING

    def _ask(self, bundle: Json, receipt: Receipt) -> Has | Delivered:
        """Whether the server has it; a Delivered where it is of no use to go on. Its no ends a doubt, in time."""
        place = ""
        try:
            if self._endpoint.takes == "transaction":
                has = has_transaction(bundle, self._get)
            else:
                has, place = has_document(bundle, self._get)
        except SignInError as error:
            return self._tried(receipt, "signed in", Delivered("sign-in", str(error)))
        except NotTrustedError as error:
            return self._tried(receipt, "asked", Delivered("not trusted", str(error)))
        except ElsewhereError as error:
            return self._tried(receipt, "asked", Delivered("elsewhere", str(error)))
        except NotSentError as error:
            return self._tried(receipt, "asked", Delivered("not reached", str(error)))
        except LostError:
            has = "cannot tell"
        self._doubt = self._doubt and (has != "no" or self._early(receipt))
        receipt.tries.append(Try(self._now(), "asked", _SAID[has]))
        receipt.place = place if has == "yes" and place else receipt.place
        return has

    def _get(self, path: str) -> Answer:
        headers = {**self._sign_in.header(), "Accept": FHIR_JSON}
        return self._wire.ask("GET", f"{self._endpoint.address}/{path}", headers)

    def _send(self, bundle: Json, content: bytes, receipt: Receipt) -> tuple[Delivered, float | None]:
        """What came of sending once, and how long the server asks to be left alone."""
        self._again, transaction, request = False, self._endpoint.takes == "transaction", str(uuid4())
        url = self._endpoint.address if transaction else f"{self._endpoint.address}/Bundle"
        try:
            headers = {**self._sign_in.header(), "Content-Type": FHIR_JSON, "Accept": FHIR_JSON}
        except SignInError as error:
            return self._tried(receipt, "signed in", Delivered("sign-in", str(error))), None
        except (NotSentError, LostError, ElsewhereError) as error:
            return self._tried(receipt, "signed in", Delivered("not reached", str(error))), None
        headers |= {"Prefer": "return=minimal", "X-Request-Id": request}
        if not transaction:
            headers["If-None-Exist"] = f"identifier={token(bundle['identifier'])}"
        receipt.verdict = "accepted" if receipt.verdict == "accepted" else "in doubt"
        receipt.tries.append(Try(self._now(), "sent", _NO_ANSWER_YET, request=request))
        self._keep(receipt)
        before, self._doubt = self._doubt, True
        try:
            answer = self._wire.ask("POST", url, headers, content)
        except NotTrustedError as error:
            done = Delivered("not trusted", str(error))
        except NotSentError as error:
            done = Delivered("not reached", str(error))
        except ElsewhereError as error:
            done = Delivered("elsewhere", str(error))
        except LostError as error:
            done = _in_doubt(str(error))
        else:
            done = self._judged(bundle, answer, receipt)
            self._doubt = before if done.why == "busy" else self._doubt
            return done, _asked_to_wait(answer)
        self._doubt = before if done.why != "in doubt" else self._doubt
        receipt.tries[-1].came = done.told
        return done, None

    def _judged(self, bundle: Json, answer: Answer, receipt: Receipt) -> Delivered:
        status, last = answer.status, receipt.tries[-1]
        last.status, last.came = status, "accepted" if 200 <= status < 300 else what(status)
        if status in BUSY:
            return Delivered("busy", what(status), reasons(answer.data), status=status)
        if status == LATER:
            last.came = "it will look at it later"
            return Delivered("in doubt", last.came, status=status)
        if status in UNCLEAR:
            return Delivered("in doubt", what(status), reasons(answer.data), status=status)
        if not 200 <= status < 300:
            return Delivered("refused", what(status), reasons(answer.data), status=status)
        if self._endpoint.takes == "document":
            remarks = warned(answer.data)
            if status != CREATED or any(r.startswith(("fatal", "error")) for r in remarks):
                last.came = "the answer does not say that it was stored"
                return Delivered("in doubt", last.came, remarks, status=status)
            receipt.place = place_told(answer.headers.get("location"))
            receipt.etag = tag_told(answer.headers.get("etag"))
            return Delivered(reasons=remarks, status=status)
        said = entry_answers(bundle, answer.data)
        if said is None:
            last.came = "the answer does not say what became of the entries"
            return Delivered("in doubt", last.came, status=status)
        receipt.entries = [
            {"number": e.number, "type": e.type, "status": e.status, "place": e.location, "etag": e.etag} for e in said
        ]
        lost = [e for e in said if not e.taken]
        if lost:
            last.came = f"{len(lost)} of {len(said)} entries were not taken"
            return Delivered("entries", last.came, entries=lost, status=status)
        return Delivered(reasons=tuple(dict.fromkeys(r for e in said for r in e.reasons if _tells(r))), status=status)

    def _tried(self, receipt: Receipt, did: Literal["asked", "signed in"], done: Delivered) -> Delivered:
        receipt.tries.append(Try(self._now(), did, done.told))
        return done

    def _now(self) -> str:
        return self._clock.now().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _in_doubt(told: str, reasons: tuple[str, ...] = (), status: int = 0) -> Delivered:
    return Delivered("in doubt", told, reasons, status=status)


def _tells(reason: str) -> bool:
    return not reason.startswith("information")


def _asked_to_wait(answer: Answer) -> float | None:
    """Seconds by Retry-After, as a number or a date; None where nothing sensible is asked."""
    from urllib3.exceptions import InvalidHeader
    from urllib3.util.retry import Retry

    try:
        return float(Retry().parse_retry_after(answer.headers["retry-after"]))
    except (KeyError, InvalidHeader, ValueError, OverflowError):
        return None
