"""The corridor to profiles: what a person names, and what the practice names, in one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.errors import SettingsError
from bridge.issues import Issue
from bridge.practice_place import FILE, find_practice

if TYPE_CHECKING:
    from bridge.check.profiles import Asked
    from bridge.practice import Practice

_SETTINGS = ("packages:", "terminology_server:")


def asked_of_practice(practice: Practice, folder: Path) -> Asked | None:
    """What the settings name: packages of profiles, a terminology server. None where they name neither."""
    if not practice.packages and practice.terminology_server is None:
        return None
    return _asked(practice, folder, (), (), must=False)


def asked_of(
    practice_folder: Path | None, profiles: Sequence[str] = (), packages: Sequence[Path] = (), *, must: bool = False
) -> tuple[Asked | None, list[Issue]]:
    """The same with profiles and packages named by hand; and what was found in the settings and in the packages.
    None where nothing is asked for.

    A practice is not needed: where none is found, or its settings name neither packages nor a server, they are left
    alone. Raises InputError where a package cannot be read at all.
    """
    practice, folder, issues = _practice(practice_folder)
    if practice is None and not profiles and not packages and not must:
        return None, issues
    asked = _asked(practice, folder, profiles, packages, must=must)
    return asked, [*issues, *asked.library.issues]


def _asked(
    practice: Practice | None, folder: Path, profiles: Sequence[str], packages: Sequence[Path], *, must: bool
) -> Asked:
    from bridge.check.profiles.asked import asked_for

    named = [folder / name for name in practice.packages] if practice else []
    server = practice.terminology_server if practice else None
    where = (server.address, float(server.seconds)) if server else None
    return asked_for(profiles, [*packages, *named], server=where, must=must)


def _practice(named: Path | None) -> tuple[Practice | None, Path, list[Issue]]:
    """The practice whose settings speak of packages or of a server; None where there is none."""
    try:
        folder = find_practice(named)
    except SettingsError:
        return None, Path(), []
    try:
        text = (folder / FILE).read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None, folder, []
    lines = [line for line in text.splitlines() if not line.lstrip().startswith("#")]
    if not any(word in line for line in lines for word in _SETTINGS):
        return None, folder, []
    from bridge.practice import load_practice

    practice, issues = load_practice(folder)
    return practice, folder, issues
