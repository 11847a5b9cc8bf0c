"""Shelves made of packages, kept in the user's cache folder so that a package is compiled once.

A file there is named by the SHA-256 of what the package holds and of how shelves are made; what was built on other
packages, by theirs too. A folder that cannot be used costs time and nothing else; a damaged file is made anew.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterable
from contextlib import suppress
from functools import cache, partial
from pathlib import Path

from bridge import __version__
from bridge.cache_folder import cache_folder
from bridge.data import mappings_root
from bridge.profiles.files import MOST_BYTES, Files
from bridge.profiles.making import Making
from bridge.profiles.package import Package
from bridge.profiles.shelf import DamagedError, Shelf
from bridge.profiles.shipped import is_core, shipped_structure
from bridge.profiles.versions import split
from bridge.safe_write import write_bytes
from bridge.shapes import Json

KEPT_FOR = 90 * 24 * 3600
"""Seconds after which a file is thrown away when another one is written."""
_NOT_KEPT = frozenset({"P150", "P156"})
"""What is wrong for the moment only, perhaps."""


class Shelves:
    """The shelves of several packages, which may build on each other in any order."""

    def __init__(self, packages: Iterable[Path]) -> None:
        hashes: dict[str, Path] = {}
        for path in packages:
            hashes.setdefault(content_hash(path), path)
        self._paths = {path: content for content, path in hashes.items()}
        self._made: dict[Path, Shelf] = {}
        self._taken: dict[Path, tuple[Package, Making]] = {}
        self._busy: list[int] = []

    def all(self) -> list[Shelf]:
        for path in self._paths:
            if (kept := self._kept(path)) is not None:
                self._made[path] = kept
            else:
                self._taken[path] = self._take(path)
        for path, (package, making) in self._taken.items():
            self._made[path] = self._finish(path, package, making)
        self._taken.clear()
        for path, shelf in self._made.items():
            shelf.mend = partial(self._anew, path)
        return [self._made[path] for path in self._paths]

    def _kept(self, path: Path) -> Shelf | None:
        for others in (False, True):
            file = self._file(path, others)
            if file is not None and file.is_file():
                with suppress(DamagedError):
                    shelf = Shelf(file)
                    if others or not shelf.about.get("foreign"):
                        return shelf
        return None

    def _take(self, path: Path) -> tuple[Package, Making]:
        package = Package(path)
        making = Making(partial(self._outside, path), package.place, is_core, self._busy)
        for name, definition in package.definitions():
            making.take(name, definition)
        making.issues[:0] = package.issues
        return package, making

    def _finish(self, path: Path, package: Package, making: Making) -> Shelf:
        content = making.shelf(package.about)
        file = self._file(path, making.foreign)
        if file is not None and _NOT_KEPT.isdisjoint(one.rule for one in making.issues):
            with suppress(OSError, DamagedError):
                _write(file, content)
                return Shelf(file)
        return Shelf(content)

    def _anew(self, path: Path) -> Shelf:
        return self._finish(path, *self._take(path))

    def _outside(self, path: Path, canonical: str) -> Json | None:
        """A structure of the other packages, or of those shipped."""
        url, version = split(canonical)
        for wanted in dict.fromkeys((version, "")) if not is_core(url) else ():
            for other in self._paths:
                if other == path:
                    continue
                if other not in self._made:
                    found = self._taken[other][1].own(url, wanted)
                else:
                    shelf = self._made[other]
                    at_hand = [one for one, _ in shelf.versions("structures", url)]
                    named = wanted or (at_hand[0] if at_hand else "")
                    found = shelf.get("structures", url, named) if named in at_hand else None
                if found is not None:
                    return found
        return shipped_structure(canonical)

    def _file(self, path: Path, others: bool) -> Path | None:
        """Where the shelf is kept; None where nobody's home is known."""
        own = self._paths[path]
        rest = "-".join(sorted(one for one in self._paths.values() if one != own)) if others else ""
        name = hashlib.sha256(f"{own} {stamp()} {rest}".encode()).hexdigest()
        try:
            return cache_folder() / "packages" / f"{name}.jsonl"
        except RuntimeError:
            return None


def content_hash(path: Path) -> str:
    """SHA-256 of a file, or of the names, sizes and contents of a folder; of the path where nothing can be read."""
    found = hashlib.sha256()
    try:
        if path.is_dir():
            for name, content in Files(path):
                found.update(f"{name}\0{len(content)}\0".encode("utf-8", "replace"))
                found.update(content)
        elif not path.is_file():  # to open a pipe would wait for somebody to write
            found.update(str(path).encode("utf-8", "replace"))
        else:
            found.update(f"{path.name}\0".encode("utf-8", "replace"))
            with path.open("rb") as stream:
                left = MOST_BYTES
                while left > 0 and (part := stream.read(1_000_000)):
                    found.update(part)
                    left -= len(part)
    except (OSError, ValueError):
        found.update(str(path).encode("utf-8", "replace"))
    return found.hexdigest()


@cache
def stamp() -> str:
    """What says how shelves are made: our version, the source that makes them, the tables that it reads."""
    found = hashlib.sha256(__version__.encode())
    here = Path(__file__).parent
    sources = [*here.rglob("*.py"), *(here.parent / "terminology").glob("*.py")]
    for path in sorted(sources):
        found.update(path.read_bytes())
    for folder in ("standard", "profiles"):
        for path in sorted((mappings_root() / folder).iterdir()):
            if path.is_file():
                content = path.read_bytes()
                found.update(f"{path.name}\0{len(content)}\0".encode())
                found.update(content)
    return found.hexdigest()


def _write(file: Path, content: bytes) -> None:
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    old = time.time() - KEPT_FOR
    for other in file.parent.iterdir():
        with suppress(OSError):
            if other.suffix in (".jsonl", ".part") and other.stat().st_mtime < old:
                other.unlink()
    write_bytes(file, content, private=True)
