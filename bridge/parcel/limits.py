"""How much a parcel may be. A record of fifty years stays far below; more is refused before it is unpacked."""

from __future__ import annotations

from dataclasses import dataclass

MIB = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Limits:
    files: int = 5_000
    piece: int = 64 * MIB
    whole: int = 256 * MIB
    """All pieces together, and also the sealed or zipped file itself."""
    armour: int = 64 * MIB
    """A seal written as text: three of its size are held in memory while it is opened."""
    manifest: int = 4 * MIB
    ratio: int = 200
    """How many times larger a piece of more than a MiB may be than its packed form."""
    work: int = 21
    """log2 of what a passphrase may ask for (scrypt N): 2 GiB of memory. Sealing asks for what takes a second."""


LIMITS = Limits()
