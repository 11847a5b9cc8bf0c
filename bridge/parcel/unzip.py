"""Reads a zip that may be hostile, without believing what it claims: every size is held against bounds first.

Written over the format itself (PKWARE APPNOTE 6.3.10, sections 4.3 to 4.5) and not over `zipfile`, since that takes a
directory of any size and lets entries overlap. Nothing is written to a disk.
"""

from __future__ import annotations

import stat
import struct
import zlib
from dataclasses import dataclass

from bridge.parcel.limits import Limits
from bridge.parcel.names import clash, fault_of_name

_END = struct.Struct("<4s4H2LH")
_CENTRAL = struct.Struct("<4s6H3L5H2L")
_LOCAL = struct.Struct("<4s5H3L2H")
_STORED, _DEFLATED = 0, 8
_ENCRYPTED = 0x0001 | 0x0040 | 0x2000
_PATCHED = 0x0020
_SIZES_FOLLOW = 0x0008
_NEWEST = 63
"""The newest version of the format that a file can need (6.3), in the low byte of its field: APPNOTE 4.4.3."""
_UNIX = 3
_ZIP64 = 0x0001
_OTHER_NAMES = (0x7075, 0x6375)
"""Info-ZIP's Unicode path and comment."""


class TrickError(ValueError):
    """A name, a link, an encryption: something that no parcel of ours holds."""


class TooMuchError(ValueError):
    """More than the limits let through."""


class DamagedError(ValueError):
    """The archive contradicts itself, or has been cut or added to."""


@dataclass(frozen=True, slots=True)
class _Entry:
    name: bytes
    flags: int
    method: int
    crc: int
    packed: int
    size: int
    start: int
    folder: bool


def unzipped(content: bytes, limits: Limits) -> dict[str, bytes]:
    """The files of a zip by name, folders left out. Raises TrickError, TooMuchError or DamagedError."""
    entries, directory = _directory(content, limits)
    _bounds(entries, limits)
    names = [_name(entry) for entry in entries if not entry.folder]
    if fault := clash(names):
        raise TrickError(fault)
    spans = _spans(content, entries, directory)
    return {
        name: _inflated(content[spans[entry.start] : spans[entry.start] + entry.packed], entry)
        for name, entry in zip(names, (e for e in entries if not e.folder), strict=True)
    }


def _directory(content: bytes, limits: Limits) -> tuple[list[_Entry], int]:
    if len(content) < _END.size:
        raise DamagedError("it is shorter than an empty archive")
    at = len(content) - _END.size
    mark, disk, first, here, count, size, start, comment = _END.unpack_from(content, at)
    if mark != b"PK\5\6" or comment:
        raise DamagedError("it does not end as an archive ends: it was cut, or something stands behind it")
    if disk or first or here != count:
        raise DamagedError("it is one part of several")
    if count == 0xFFFF or 0xFFFFFFFF in (size, start) or content[at - 20 : at - 16] == b"PK\6\7":
        raise TooMuchError("it claims more files or bytes than a plain archive can hold (zip64)")
    if count > limits.files:
        raise TooMuchError(f"it holds more than {limits.files:,} files")
    if start + size != at:
        raise DamagedError("its directory does not stand where it says")
    entries = []
    for _ in range(count):
        entry, start = _entry(content, start, at)
        entries.append(entry)
    if start != at:
        raise DamagedError("its directory holds more than it says")
    return entries, at - size


def _entry(content: bytes, at: int, end: int) -> tuple[_Entry, int]:
    if at + _CENTRAL.size > end:
        raise DamagedError("its directory holds less than it says")
    (mark, made, needed, flags, method, _, _, crc, packed, size, names, extra, comment, disk, _, mode, start) = (
        _CENTRAL.unpack_from(content, at)
    )
    rest = at + _CENTRAL.size
    if mark != b"PK\1\2" or disk or rest + names + extra + comment > end:
        raise DamagedError("an entry of its directory is broken")
    if flags & _ENCRYPTED:
        raise TrickError("a file in it is locked with a password of its own")
    if method not in (_STORED, _DEFLATED) or flags & _PATCHED or needed & 0xFF > _NEWEST:
        raise TrickError("a file in it is packed in a way that parcels do not use")
    kind = stat.S_IFMT(mode >> 16) if made >> 8 == _UNIX or mode >> 16 else 0
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        raise TrickError("it holds a link or a device instead of a file")
    if 0xFFFFFFFF in (packed, size, start):
        raise TooMuchError("a file in it claims more bytes than a plain archive can hold (zip64)")
    name = content[rest : rest + names]
    _extras(content[rest + names : rest + names + extra])
    folder = name.endswith(b"/")
    if (kind == stat.S_IFDIR and not folder) or (folder and size):
        raise TrickError("it holds a folder that is a file")
    return _Entry(name, flags, method, crc, packed, size, start, folder), rest + names + extra + comment


def _extras(extra: bytes) -> None:
    """Refuses a second name or a second size, which some programs would believe and others not."""
    at = 0
    while at + 4 <= len(extra):
        kind, length = struct.unpack_from("<2H", extra, at)
        if kind == _ZIP64:
            raise TooMuchError("a file in it claims more bytes than a plain archive can hold (zip64)")
        if kind in _OTHER_NAMES:
            raise TrickError("a file in it has a second name")
        at += 4 + length


def _name(entry: _Entry) -> str:
    try:
        name = entry.name.decode("ascii")
    except UnicodeDecodeError:
        raise TrickError("a file has a name with characters that are not safe on every computer") from None
    if fault := fault_of_name(name.removesuffix("/")):
        raise TrickError(f"a file has a name {fault}")
    return name


def _bounds(entries: list[_Entry], limits: Limits) -> None:
    whole = 0
    for entry in entries:
        if entry.folder:
            _name(entry)
        whole += entry.size
        if entry.size > limits.piece:
            raise TooMuchError(f"a file in it would be larger than {limits.piece >> 20} MiB")
        if entry.size > 1 << 20 and entry.size > entry.packed * limits.ratio:
            raise TooMuchError(f"a file in it would grow more than {limits.ratio}-fold when unpacked")
    if whole > limits.whole:
        raise TooMuchError(f"it would be larger than {limits.whole >> 20} MiB when unpacked")


def _spans(content: bytes, entries: list[_Entry], directory: int) -> dict[int, int]:
    """Where the data of each entry begins, by where the entry begins; entries lie end to end and share nothing."""
    begins: dict[int, int] = {}
    free = 0
    for entry in sorted(entries, key=lambda entry: entry.start):
        gap = entry.start - free
        if gap:
            raise DamagedError("files in it overlap, or something is hidden between them")
        if entry.start + _LOCAL.size > directory:
            raise DamagedError("a file in it begins where no file can be")
        mark, _, flags, method, _, _, crc, packed, size, names, extra = _LOCAL.unpack_from(content, entry.start)
        begin = entry.start + _LOCAL.size + names + extra
        _extras(content[begin - extra : begin])
        name = content[entry.start + _LOCAL.size : entry.start + _LOCAL.size + names]
        if mark != b"PK\3\4" or (name, flags, method) != (entry.name, entry.flags, entry.method):
            raise DamagedError("its directory and its files name different things")
        follows = bool(flags & _SIZES_FOLLOW)
        said = (crc, packed, size)
        if said != (entry.crc, entry.packed, entry.size) and not (follows and said == (0, 0, 0)):
            raise DamagedError("its directory and its files give different sizes")
        begins[entry.start] = begin
        free = begin + entry.packed
        if free > directory:
            raise DamagedError("a file in it reaches beyond the archive")
        if follows:
            free += _descriptor(content, free, entry)
    if free != directory:
        raise DamagedError("something is hidden between its files and its directory")
    return begins


def _descriptor(content: bytes, at: int, entry: _Entry) -> int:
    said = struct.pack("<3L", entry.crc, entry.packed, entry.size)
    for form in (b"PK\7\x08" + said, said):
        if content[at : at + len(form)] == form:
            return len(form)
    raise DamagedError("its directory and its files give different sizes")


def _inflated(packed: bytes, entry: _Entry) -> bytes:
    """No more than one byte beyond the size that was bounded is ever unpacked."""
    if entry.method == _STORED:
        content = packed
    else:
        unpack = zlib.decompressobj(-15)
        try:
            content = unpack.decompress(packed, entry.size + 1)
        except zlib.error:
            raise DamagedError("a file in it cannot be unpacked") from None
        if len(content) == entry.size and not unpack.eof:
            content += unpack.decompress(unpack.unconsumed_tail, 1)
        if not unpack.eof or unpack.unused_data:
            raise DamagedError("a file in it is longer or shorter than it says")
    if len(content) != entry.size or zlib.crc32(content) != entry.crc:
        raise DamagedError("a file in it is not what its directory says")
    return content
