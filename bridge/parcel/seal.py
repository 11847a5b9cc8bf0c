"""Opens a seal (age, https://age-encryption.org/v1), after looking at what its header asks for."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Sequence
from io import BytesIO

from bridge.parcel.keys import age_identity
from bridge.parcel.limits import MIB, Limits
from bridge.parcel.unzip import TooMuchError

FIRST = b"age-encryption.org/v1\n"
ARMOUR, ARMOUR_END = b"-----BEGIN AGE ENCRYPTED FILE-----", b"-----END AGE ENCRYPTED FILE-----"
LONGEST_HEADER = 65_536

_SCRYPT = re.compile(rb"-> scrypt \S+ ([1-9][0-9]?)\Z")


class BrokenSealError(ValueError):
    """No seal in the form of age v1, or it was damaged or changed."""


class TooMuchWorkError(ValueError):
    """The passphrase would cost more memory than the limits let through."""


class NotForUsError(ValueError):
    """None of the keys, or not this passphrase, opens it; the words say which, and what was needed."""


class PassphraseError(ValueError):
    """It needs a passphrase, or this one is not the one; the words say which."""


def is_sealed(start: bytes) -> bool:
    return start.startswith(FIRST) or start.lstrip().startswith(ARMOUR)


def unsealed(content: bytes, identities: Sequence[str], passphrase: str, limits: Limits) -> bytes:
    """What is inside. Raises BrokenSealError, TooMuchError, TooMuchWorkError, NotForUsError or PassphraseError;
    SettingsError for a key that is none."""
    import pyrage  # type: ignore[import-untyped]

    plain = content if content.startswith(FIRST) else _without_armour(content, limits.armour)
    by_passphrase = _asks_for_passphrase(plain, limits)
    if by_passphrase and not passphrase:
        raise PassphraseError("It is sealed with a passphrase, and none was given.")
    if not by_passphrase and not identities:
        raise NotForUsError("It is sealed for a key, and no key was given.")
    try:
        if by_passphrase:
            return bytes(pyrage.passphrase.decrypt(plain, passphrase))
        return bytes(pyrage.decrypt(plain, [age_identity(text) for text in identities]))
    except pyrage.DecryptError as error:
        raise _why(str(error), by_passphrase) from None


def _why(said: str, by_passphrase: bool) -> ValueError:
    if said == "No matching keys found":
        return NotForUsError("It was sealed for other keys than yours.")
    if by_passphrase and said == "Decryption failed":
        return PassphraseError("The passphrase is not the one that it was sealed with.")
    return BrokenSealError("the sealed bytes were damaged or changed")


def _asks_for_passphrase(plain: bytes, limits: Limits) -> bool:
    """Whether its header is that of a passphrase; how much work it asks for is held against the limit."""
    head = plain[:LONGEST_HEADER]
    end = head.find(b"\n--- ")
    if not plain.startswith(FIRST) or end < 0:
        raise BrokenSealError("its header is not that of age, version 1")
    stanzas = _stanzas(head[:end].split(b"\n")[1:])
    if not any(line.startswith(b"-> scrypt") for line in stanzas):
        return False
    found = _SCRYPT.match(stanzas[0]) if len(stanzas) == 1 else None
    if found is None:
        raise BrokenSealError("its header mixes a passphrase with something else, or does not say how hard it is")
    if int(found[1]) > limits.work:
        raise TooMuchWorkError(f"Its passphrase asks for work of 2^{int(found[1])}; 2^{limits.work} is the most here.")
    return True


def _stanzas(lines: list[bytes]) -> list[bytes]:
    """The first line of each stanza. Its body is in lines of 64 characters, and ends with a shorter one."""
    firsts: list[bytes] = []
    within = False
    for line in lines:
        if not within and line.startswith(b"-> "):
            firsts.append(line)
            within = True
        elif within and len(line) <= 64 and not line.startswith(b"-"):
            within = len(line) == 64
        else:
            raise BrokenSealError("its header is not that of age, version 1")
    if within:
        raise BrokenSealError("its header is not that of age, version 1")
    return firsts


def _without_armour(content: bytes, most: int) -> bytes:
    """The seal in a text of lines of 64 characters and a last one that may be shorter, decoded line by line."""
    if len(content) > most:
        raise TooMuchError(f"a seal in the form of text is larger than {most // MIB} MiB")
    plain, last = bytearray(), False
    lines = BytesIO(content.strip())
    if _line(lines) != ARMOUR:
        raise BrokenSealError(_BROKEN_ARMOUR)
    while (line := _line(lines)) != ARMOUR_END:
        made = _decoded(line)
        if last or not made:
            raise BrokenSealError(_BROKEN_ARMOUR)
        last = len(made) < _WHOLE_LINE
        plain += made
    if not plain or lines.read(1):
        raise BrokenSealError(_BROKEN_ARMOUR)
    return bytes(plain)


_BROKEN_ARMOUR = "its text form (ASCII armour) is broken"
_WHOLE_LINE = 48
"""Bytes that 64 characters stand for."""


def _line(lines: BytesIO) -> bytes:
    """The next line without its end; longer ones than there can be are cut."""
    line = lines.readline(_LONGEST_LINE)
    return line.removesuffix(b"\n").removesuffix(b"\r")


_LONGEST_LINE = 66


def _decoded(line: bytes) -> bytes:
    """What a line stands for; nothing where it is not how just that is written."""
    try:
        made = base64.b64decode(line, validate=True)
    except binascii.Error:
        return b""
    return made if len(line) <= 64 and base64.b64encode(made) == line else b""
