"""Archives and folders that want more than they show: refused before they are unpacked, with bounded reading."""

from __future__ import annotations

import io
import os
import stat
import struct
import tracemalloc
import zipfile
import zlib
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from bridge.errors import InputError
from bridge.parcel import Limits, opened
from bridge.parcel.unzip import DamagedError, TooMuchError, TrickError, unzipped
from tests.parcel.parcels import as_folder, as_zip, codes, open_zip, whole

LIMITS = Limits()


def _zip(*entries: tuple[str | zipfile.ZipInfo, bytes], pack: int = zipfile.ZIP_DEFLATED) -> bytearray:
    page = io.BytesIO()
    with zipfile.ZipFile(page, "w", pack) as archive:
        for name, content in entries:
            archive.writestr(name, content)
    return bytearray(page.getvalue())


def _info(name: str, mode: int, system: int = 3) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)
    info.create_system, info.external_attr = system, mode << 16
    return info


def _patched(content: bytearray, mark: bytes, offset: int, form: str, value: int, nth: int = 0) -> bytes:
    at = -1
    for _ in range(nth + 1):
        at = content.index(mark, at + 1)
    struct.pack_into(form, content, at + offset, value)
    return bytes(content)


TWO = [("a.txt", b"a" * 100), ("b.txt", b"b" * 100)]
CENTRAL, LOCAL, END = b"PK\1\2", b"PK\3\4", b"PK\5\6"


def _overlapping() -> bytes:
    """Both entries of the directory lead to the first file (the trick of the better zip bombs)."""
    page = _zip(("a.txt", b"x" * 100), ("a.tx2", b"x" * 100))
    return _patched(page, CENTRAL, 42, "<L", 0, nth=1)


TRICKS: dict[str, Callable[[], bytes]] = {
    "name out of the folder": lambda: bytes(_zip(("../a.txt", b"a"))),
    "name out of a folder within": lambda: bytes(_zip(("a/../../b.txt", b"a"))),
    "name at the root": lambda: bytes(_zip(("/etc/passwd", b"a"))),
    "name on a disk": lambda: bytes(_zip(("C:/a.txt", b"a"))),
    "backslash": lambda: bytes(_zip(("a.txt", b"a"))).replace(b"a.txt", b"..\\tx"),
    "name with a null byte": lambda: bytes(_zip(("a.txt", b"a"))).replace(b"a.txt", b"a\0txt"),
    "name that is not ASCII": lambda: bytes(_zip(("é.txt", b"a"))),
    "two names in Unicode that are one": lambda: bytes(_zip(("e\u0301.txt", b"a"), ("\u00e9.txt", b"b"))),
    "two names that differ in capitals": lambda: bytes(_zip(("a.txt", b"a"), ("A.TXT", b"b"))),
    "one name twice": lambda: bytes(_zip(("a.txt", b"a"), ("b.txt", b"b"))).replace(b"b.txt", b"a.txt"),
    "a file that is also a folder": lambda: bytes(_zip(("a", b"a"), ("a/b", b"b"))),
    "a folder out of the folder": lambda: bytes(_zip(("../../", b""))),
    "a symbolic link": lambda: bytes(_zip((_info("a.txt", stat.S_IFLNK | 0o777), b"/etc/passwd"))),
    "a symbolic link of another system": lambda: bytes(_zip((_info("a.txt", stat.S_IFLNK, 0), b"/etc/passwd"))),
    "a pipe": lambda: bytes(_zip((_info("a.txt", stat.S_IFIFO | 0o600), b""))),
    "a device": lambda: bytes(_zip((_info("a.txt", stat.S_IFCHR | 0o600), b""))),
    "an encrypted file": lambda: _patched(_zip(*TWO), CENTRAL, 8, "<H", 1),
    "another packing": lambda: _patched(_zip(*TWO), CENTRAL, 10, "<H", 12),
    "patched data": lambda: _patched(_zip(*TWO), CENTRAL, 8, "<H", 0x20),
    "a version that does not exist": lambda: _patched(_zip(*TWO), CENTRAL, 6, "<H", 128),
    "a second name": lambda: _with_extra(b"\x75\x70\x09\x00\x01\0\0\0\0evil"),
    "a folder with content": lambda: bytes(_zip(("a/", b"abc"))),
}
TOO_MUCH: dict[str, Callable[[], bytes]] = {
    "10,000 files": lambda: bytes(_zip(*((f"f{n}.txt", b"") for n in range(10_000)))),
    "more than zip can count": lambda: _patched(_patched_twice(_zip(*TWO), 0xFFFF), END, 10, "<H", 0xFFFF),
    "a bomb of 512 MiB": lambda: _bomb(512 << 20),
    "a bomb within the limit of size": lambda: _bomb(60 << 20),
    "many files that are too much together": lambda: _many(),
    "a size of zip64": lambda: _patched(_zip(*TWO), CENTRAL, 24, "<L", 0xFFFFFFFF),
    "an offset of zip64": lambda: _patched(_zip(*TWO), CENTRAL, 42, "<L", 0xFFFFFFFF),
    "sizes of zip64 beside plain ones": lambda: _with_extra(b"\x01\x00\x08\x00" + b"\xff" * 8),
    "a directory of zip64": lambda: _patched(_zip(*TWO), END, 16, "<L", 0xFFFFFFFF),
}
DAMAGED: dict[str, Callable[[], bytes]] = {
    "overlapping files": _overlapping,
    "bytes behind the end": lambda: bytes(_zip(*TWO)) + b"x",
    "a comment at the end": lambda: _patched(_zip(*TWO), END, 20, "<H", 3) + b"abc",
    "bytes before the first file": lambda: b"MZ" + bytes(_zip(*TWO)),
    "another archive before it": lambda: bytes(_zip(*TWO)) + bytes(_zip(*TWO)),
    "cut": lambda: bytes(_zip(*TWO))[:-1],
    "cut to the start": lambda: bytes(_zip(*TWO))[:10],
    "a part of several": lambda: _patched(_zip(*TWO), END, 4, "<H", 1),
    "fewer files counted": lambda: _patched(_patched_twice(_zip(*TWO), 1), END, 10, "<H", 1),
    "more files counted": lambda: _patched(_patched_twice(_zip(*TWO), 3), END, 10, "<H", 3),
    "another name in front of the file": lambda: _patched(_zip(*TWO), LOCAL, 30, "<B", ord("z")),
    "another size in front of the file": lambda: _patched(_zip(*TWO), LOCAL, 22, "<L", 5),
    "a size too small": lambda: _sizes(_zip(*TWO), 99),
    "a size too large": lambda: _sizes(_zip(*TWO), 101),
    "a checksum that is wrong": lambda: _patched(_patched_bytes(_zip(*TWO), LOCAL, 14), CENTRAL, 16, "<L", 7),
    "bytes that do not unpack": lambda: _patched(_zip(*TWO), LOCAL, 35, "<B", 0xFF),
    "a file that begins in the directory": lambda: _patched(_zip(*TWO), CENTRAL, 42, "<L", 10_000),
    "a name that is longer than the directory": lambda: _patched(_zip(*TWO), CENTRAL, 28, "<H", 60_000, nth=1),
    "a packed size beyond the archive": lambda: _packed(_zip(*TWO), 50_000),
}


def _with_extra(extra: bytes) -> bytes:
    info = zipfile.ZipInfo("a.txt")
    info.extra = extra
    return bytes(_zip((info, b"abc")))


def _patched_twice(content: bytearray, count: int) -> bytearray:
    return bytearray(_patched(content, END, 8, "<H", count))


def _patched_bytes(content: bytearray, mark: bytes, offset: int) -> bytearray:
    return bytearray(_patched(content, mark, offset, "<L", 7))


def _sizes(content: bytearray, size: int) -> bytes:
    _patched(content, LOCAL, 22, "<L", size)
    return _patched(content, CENTRAL, 24, "<L", size)


def _packed(content: bytearray, size: int) -> bytes:
    _patched(content, LOCAL, 18, "<L", size, nth=1)
    return _patched(content, CENTRAL, 20, "<L", size, nth=1)


@cache
def _bomb(size: int) -> bytes:
    """One file of zeros, packed in pieces so that making it takes no memory either."""
    pack = zlib.compressobj(9, zlib.DEFLATED, -15)
    block, crc, parts = bytes(1 << 20), 0, []
    for _ in range(size >> 20):
        parts.append(pack.compress(block))
        crc = zlib.crc32(block, crc)
    parts.append(pack.flush())
    packed = b"".join(parts)
    head = struct.pack("<5H3L2H", 20, 0, 8, 0, 33, crc, len(packed), size, 5, 0)
    local = LOCAL + head + b"a.txt" + packed
    central = CENTRAL + struct.pack("<H", 20) + head + struct.pack("<3H2L", 0, 0, 0, 0, 0) + b"a.txt"
    return local + central + END + struct.pack("<4H2LH", 0, 0, 1, 1, len(central), len(local), 0)


def _many() -> bytes:
    """Files whose claims are each within the limits, and far beyond them together."""
    page = _zip(*((f"f{n}.txt", os.urandom(16)) for n in range(200)), pack=zipfile.ZIP_STORED)
    for nth in range(200):
        _patched(page, CENTRAL, 24, "<L", 4 << 20, nth=nth)
        _patched(page, CENTRAL, 20, "<L", 1 << 20, nth=nth)
    return bytes(page)


@pytest.mark.parametrize("name", TRICKS)
def test_a_trick(name: str, tmp_path: Path) -> None:
    content = TRICKS[name]()
    with pytest.raises(TrickError):
        unzipped(content, LIMITS)
    assert codes(open_zip(content, tmp_path)) == {"X142"}


@pytest.mark.parametrize("name", TOO_MUCH)
def test_too_much(name: str, tmp_path: Path) -> None:
    content = TOO_MUCH[name]()
    with pytest.raises(TooMuchError):
        unzipped(content, LIMITS)
    assert codes(open_zip(content, tmp_path)) == {"X143"}


@pytest.mark.parametrize("name", DAMAGED)
def test_damaged(name: str) -> None:
    with pytest.raises(DamagedError):
        unzipped(DAMAGED[name](), LIMITS)


@pytest.mark.parametrize("name", ["10,000 files", "a bomb of 512 MiB", "a bomb within the limit of size"])
def test_nothing_is_unpacked_before_it_is_refused(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    content = TOO_MUCH[name]()

    def unpacks(*_: object) -> None:
        raise AssertionError("something was unpacked")

    monkeypatch.setattr("bridge.parcel.unzip._inflated", unpacks)
    tracemalloc.start()
    try:
        with pytest.raises(TooMuchError):
            unzipped(content, LIMITS)
        assert tracemalloc.get_traced_memory()[1] < 1 << 20
    finally:
        tracemalloc.stop()


def test_a_size_that_lies_is_unpacked_no_further_than_it_claims() -> None:
    """It claims 1,000 bytes and holds 60 MiB: one byte beyond the claim is as far as it goes."""
    content = bytearray(_bomb(60 << 20))
    _patched(content, LOCAL, 22, "<L", 1_000)
    _patched(content, CENTRAL, 24, "<L", 1_000)
    whole_content = bytes(content)
    tracemalloc.start()
    try:
        with pytest.raises(DamagedError):
            unzipped(whole_content, LIMITS)
        assert tracemalloc.get_traced_memory()[1] < 1 << 20
    finally:
        tracemalloc.stop()


def test_an_archive_in_the_archive_is_a_file_and_no_more(tmp_path: Path) -> None:
    inner = _bomb(512 << 20)
    files = {**whole(), "images/inner.zip": inner}
    assert codes(open_zip(as_zip(files), tmp_path)) >= {"X132"}


def test_what_people_pack_anew_still_opens(tmp_path: Path) -> None:
    """With entries for folders, and written to a pipe, where the sizes stand behind the files."""

    class Pipe(io.RawIOBase):
        def __init__(self) -> None:
            self.parts: list[bytes] = []

        def writable(self) -> bool:
            return True

        def write(self, part: bytes) -> int:  # type: ignore[override]
            self.parts.append(bytes(part))
            return len(part)

    pipe = Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as archive:  # type: ignore[arg-type]
        archive.writestr(zipfile.ZipInfo("visits/"), b"")
        for name, content in whole().items():
            archive.writestr(name, content)
    found = open_zip(b"".join(pipe.parts), tmp_path)
    assert codes(found) == {"X136"}
    assert len(found.pieces) == 5


def _folder(tmp_path: Path) -> Path:
    return as_folder(whole(), tmp_path / "record")


def test_links_in_a_folder_are_not_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside.pdf"
    outside.write_bytes(whole()["letters/V-1.pdf"])
    path = _folder(tmp_path)
    (path / "letters/V-1.pdf").unlink()
    (path / "letters/V-1.pdf").symlink_to(outside)
    assert codes(opened(path)) == {"X142"}
    (path / "letters/V-1.pdf").unlink()
    (path / "letters").rmdir()
    (tmp_path / "elsewhere").mkdir()
    (path / "letters").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    assert codes(opened(path)) == {"X142"}


def test_a_loop_of_links_ends(tmp_path: Path) -> None:
    path = _folder(tmp_path)
    (path / "again").symlink_to(path, target_is_directory=True)
    assert codes(opened(path)) == {"X142"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_in_a_folder_does_not_hang(tmp_path: Path) -> None:
    path = _folder(tmp_path)
    os.mkfifo(path / "letters/pipe.pdf")
    assert codes(opened(path)) == {"X142"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_is_no_parcel_and_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "parcel.zip")
    with pytest.raises(InputError):
        opened(tmp_path / "parcel.zip")


def test_a_folder_of_10000_files_is_refused_before_any_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = _folder(tmp_path)
    (path / "kept").mkdir()
    for number in range(10_000):
        os.close(os.open(path / f"kept/f{number}.json", os.O_CREAT | os.O_WRONLY))

    def reads(*_: object) -> bytes:
        raise AssertionError("a file was read")

    monkeypatch.setattr("bridge.parcel.folder.file_content", reads)
    assert codes(opened(path)) == {"X143"}


def test_a_file_that_is_large_and_empty_is_not_read(tmp_path: Path) -> None:
    """A sparse file of a TiB, where the file system can make one."""
    path = _folder(tmp_path)
    try:
        os.truncate(path / "images/V-1-right.png", 1 << 40)
    except OSError:
        pytest.skip("this file system makes no sparse file of a TiB")
    tracemalloc.start()
    try:
        assert codes(opened(path)) == {"X143"}
        assert tracemalloc.get_traced_memory()[1] < 1 << 20
    finally:
        tracemalloc.stop()


def test_a_sealed_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "parcel.zip.age"
    path.write_bytes(b"age-encryption.org/v1\n")
    os.truncate(path, 1 << 32)
    assert codes(opened(path)) == {"X143"}


def test_deep_folders_end(tmp_path: Path) -> None:
    path = _folder(tmp_path)
    deep = path.joinpath(*(["d"] * 60))
    deep.mkdir(parents=True)
    assert codes(opened(path)) == {"X142"}


def test_more_faults_than_anybody_reads_are_told_shortly(tmp_path: Path) -> None:
    path = _folder(tmp_path)
    (path / "kept").mkdir()
    for number in range(500):
        (path / f"kept/f{number}.json").write_bytes(b"{}")
    found = opened(path)
    assert codes(found) == {"X132", "X136"}
    assert len(found.issues) < 30
