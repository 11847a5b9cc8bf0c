"""What packages need and is not at hand: other packages by their names, definitions that theirs are built on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from bridge.issues import Issue, Where, issue
from bridge.profiles.shelf import Shelf
from bridge.profiles.versions import cut


def unmet(added: Sequence[Shelf], shipped: Sequence[Shelf], has: Callable[[str], bool]) -> Iterator[Issue]:
    """Packages that are needed and missing (P154) or there in another version (P158); missing bases (P155)."""
    at_hand: dict[str, set[str]] = {}
    for shelf in (*added, *shipped):
        for name in (shelf.about.get("name"), *shelf.about.get("names", ())):
            if name:
                at_hand.setdefault(name, set()).add(str(shelf.about.get("version", "")))
    for shelf in added:
        where = Where(file=str(shelf.about.get("file", "")))
        whose = f"{cut(shelf.about.get('name') or 'The package')} {cut(shelf.about.get('version', ''))}".strip()
        for name, version in shelf.about.get("dependencies", {}).items():
            needed = f"{cut(name)} {cut(version)}"
            if name not in at_hand:
                yield issue("P154", f"{whose} needs {needed}, which is not at hand.", where, cause=f"P154:{needed}")
            elif not any(_fits(version, one) for one in at_hand[name]):
                used = ", ".join(map(cut, sorted(at_hand[name])))
                yield issue("P158", f"{whose} needs {needed}; at hand is {used}.", where, cause=f"P158:{needed}")
        for base, name in shelf.about.get("bases", {}).items():
            if not has(base):
                words = f"{cut(name)} is built on {base[:200]}, which is not at hand."
                yield issue("P155", words, where, cause=f"P155:{base}")


def _fits(asked: str, version: str) -> bool:
    """Whether a version is the one asked for: `4.0.x`, `current` and the like leave it open."""
    if asked in ("", "*", "current", "dev", "latest"):
        return True
    return version == asked or (asked.endswith(".x") and version.startswith(asked[:-1]))
