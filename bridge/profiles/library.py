"""The definitions at hand as one: those that a person named, those of packages, those that are shipped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path

from bridge.issues import Issue, Where, issue
from bridge.profiles.shelf import KINDS, Shelf
from bridge.profiles.shipped import is_core, shipped
from bridge.profiles.versions import cut, newness, split
from bridge.shapes import Json

_Place = tuple[Shelf, str]


class Library:
    """Shelves in tiers: what stands in an earlier one is preferred, in whatever version; a version that is named is
    looked for in all of them. What is given out is shared: do not change it. An address may carry |version."""

    def __init__(self, tiers: Sequence[Sequence[Shelf]], issues: Sequence[Issue] = ()) -> None:
        self._tiers = tiers
        self.issues = [*issues]
        self._places: dict[tuple[str, str], _Place | None] = {}
        self._compiled: dict[str, Json | None] = {}

    def structure(self, url: str) -> Json | None:
        return self._get("structures", url)

    def profile(self, url: str) -> Json | None:
        """The profile, compiled now where it was not before, as of the types themselves."""
        found = self._get("profiles", url)
        if found is None:
            if url not in self._compiled:
                from bridge.profiles.making import profile_of

                structure = self.structure(url)
                self._compiled[url] = profile_of(structure) if structure is not None else None
            found = self._compiled[url]
        return found

    def like(self, written: str) -> str:
        """The address of the profile at hand that looks most like what was written, a name or an address; empty where
        none does."""
        from bridge.practice.names import nearest

        known = [url for tier in self._tiers for shelf in tier for url in shelf.urls("profiles")]
        plain = split(written)[0]
        if ":" in plain:
            return next(iter(nearest(plain, known, 1)), "")
        by_name = {url.rpartition("/")[2]: url for url in reversed(known)}
        return next((by_name[name] for name in nearest(plain, list(by_name), 1)), "")

    def value_set(self, url: str) -> Json | None:
        return self._get("value_sets", url)

    def code_system(self, url: str) -> Json | None:
        return self._get("code_systems", url)

    @property
    def added_any(self) -> bool:
        """Whether there is anything here but what is shipped."""
        return len(self._tiers) > 1

    def added(self, kind: str, url: str) -> bool:
        """Whether there is a definition of this address, in the version if it names one, among those not shipped."""
        plain, version = split(url)
        rows = (row for tier in self._tiers[:-1] for shelf in tier for row in shelf.versions(kind, plain))
        return any(version in ("", one) for one, _ in rows)

    def version_note(self, url: str) -> str:
        """A sentence where another version is used than the address names; empty where there is nothing to say."""
        plain, version = split(url)
        for kind in KINDS if version else ():
            if (place := self._place(kind, url)) is not None:
                if place[1] == version:
                    return ""
                used = f"version {cut(place[1])}" if place[1] else "one without a version"
                return f"{plain[:200]} is named in version {cut(version)}, which is not at hand; {used} was used."
        return ""

    @cached_property
    def missing(self) -> list[str]:
        """Addresses that the definitions at hand refer to and nothing is at hand for."""
        wanted = (url for tier in self._tiers for shelf in tier for url in shelf.about.get("needs", ()))
        return sorted({url for url in wanted if not self._knows(url)})

    def _knows(self, url: str) -> bool:
        return is_core(url) or any(self._place(kind, url) for kind in ("structures", "value_sets", "code_systems"))

    def _get(self, kind: str, url: str) -> Json | None:
        place = self._place(kind, url)
        return place[0].get(kind, split(url)[0], place[1]) if place is not None else None

    def _place(self, kind: str, url: str) -> _Place | None:
        key = (kind, url)
        if key not in self._places:
            self._places[key] = self._look_up(kind, *split(url))
        return self._places[key]

    def _look_up(self, kind: str, url: str, version: str) -> _Place | None:
        tiers = self._tiers[-1:] if is_core(url) else self._tiers
        best: _Place | None = None
        for tier in tiers:
            found = [(shelf, *row) for shelf in tier for row in shelf.versions(kind, url)]
            for shelf, one, _ in found if version else ():
                if one == version:
                    return shelf, one
            if found and best is None:
                shelf, one, _ = max(found, key=lambda row: newness(row[1], row[2]))
                best = shelf, one
        return best


def open_library(packages: Sequence[Path] = (), definitions: Sequence[Json] = ()) -> Library:
    """The library of what is named and what is shipped. Nothing is raised for what is wrong in packages: `issues`."""
    if not packages and not definitions:
        return Library([shipped()])
    from bridge.profiles.cache import Shelves
    from bridge.profiles.dependencies import unmet

    of_packages = Shelves(Path(one).absolute() for one in packages).all() if packages else []
    tiers: list[Sequence[Shelf]] = [of_packages, shipped()]
    if definitions:
        tiers.insert(0, [_shelf_of(definitions, Library(tiers))])
    library = Library(tiers)
    added = [shelf for tier in tiers[:-1] for shelf in tier]
    library.issues += _told(added)
    library.issues += _known_already(added)
    library.issues += unmet(added, shipped(), lambda url: library.structure(url) is not None)
    return library


def _shelf_of(definitions: Sequence[Json], others: Library) -> Shelf:
    from bridge.profiles.making import Making
    from bridge.profiles.package import definitions_in

    making = Making(others.structure, lambda file: Where(file=file), is_core, [])
    for definition in definitions:
        for one in definitions_in(definition):
            making.take("", one)
    return Shelf(making.shelf({}))


def _told(shelves: Sequence[Shelf]) -> Iterator[Issue]:
    for shelf in shelves:
        for rule, message, file in shelf.about.get("issues", ()):
            yield issue(rule, message, Where(file=file))


def _known_already(shelves: Sequence[Shelf]) -> Iterator[Issue]:
    """What is defined anew: types of R4 itself, which stay as they are, and what is shipped, which gives way."""
    urls = {url for shelf in shelves for url in shelf.urls("structures")}
    if core := sorted(filter(is_core, urls)):
        told = f"{_some(core)}: this is R4’s own; it stays as R4 has it."
        yield issue("P160", told, Where(), cause="P160:core")
    if again := sorted(u for u in urls if not is_core(u) and any(one.versions("structures", u) for one in shipped())):
        told = f"{_some(again)}: this is shipped too; what was added is used in its place."
        yield issue("P160", told, Where(), cause="P160:shipped")


def _some(urls: Sequence[str]) -> str:
    more = f" and {len(urls) - 1} more" if len(urls) > 1 else ""
    return f"{urls[0][:200]}{more}"
