"""What data is held against beyond the standard: definitions at hand, a terminology server, profiles asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.check.code_syntax import system_problem, systems_with_syntax
from bridge.check.look import text
from bridge.check.profiles.plans import Plans
from bridge.check.profiles.run import Held, Run
from bridge.errors import InputError
from bridge.fhir.files import read_file
from bridge.fhir.received import read_received
from bridge.issues import Issue
from bridge.profiles.library import Library, open_library
from bridge.profiles.versions import cut
from bridge.shapes import Json
from bridge.terminology.members import Terminology

if TYPE_CHECKING:
    from bridge.terminology.server import Server


class Asked:
    """One set of definitions, and which profiles of them the outermost resource has to conform to."""

    def __init__(
        self,
        library: Library | None = None,
        profiles: Sequence[str] = (),
        *,
        server: Server | None = None,
        must: bool = False,
    ) -> None:
        """`library`: the shipped definitions where none is given. `must`: whether must-support elements that are not
        there are told."""
        self.library = library or _shipped()
        self.profiles = tuple(profiles)
        self.must = must
        self.plans = Plans(self.library)
        self.server = server
        self._told = 0
        forms = {system: partial(_is_of, system) for system in systems_with_syntax()}
        self.terminology = Terminology(self.library.value_set, self.library.code_system, server, forms)

    def told_of_server(self) -> list[Issue]:
        """What became of asking the terminology server since this was last asked for."""
        if self.server is None:
            return []
        told = self.server.issues[self._told :]
        self._told += len(told)
        return told

    def run(self, explain: Callable[[Held], None] | None = None) -> Run:
        """A new run, for one piece of data."""
        self.terminology.renew()
        return Run(self.plans, self.terminology, explain, self.must)


def _is_of(system: str, code: str) -> bool:
    return system_problem(system, code) is None


def asked_for(
    profiles: Sequence[Any] = (),
    definitions: Sequence[Any] = (),
    *,
    server: tuple[str, float] | None = None,
    must: bool = False,
) -> Asked:
    """What a person names. A profile is an address, or a definition as JSON data, or the path of a file with one;
    definitions are JSON data, or paths of packages, folders and files. `server`: address, and seconds for an answer.

    Raises InputError where a path cannot be read at all, and for what is no profile.
    """
    if any(not isinstance(one, str | Path | dict) for one in (*profiles, *definitions)):
        raise InputError("A profile is an address, a definition, or the path of a file.", "Name one of these.")
    if any(isinstance(one, dict) and not text(one, "url") for one in profiles):
        raise InputError("A profile without a url cannot be asked for.", "Give the definition its address.")
    given = [one for one in (*definitions, *profiles) if isinstance(one, dict)]
    paths = [Path(one) for one in definitions if isinstance(one, str | Path)]
    urls: list[str] = [text(one, "url") for one in profiles if isinstance(one, dict)]
    for one in profiles:
        if isinstance(one, str) and ":" in one and not _exists(Path(one)):
            urls.append(one)
        elif isinstance(one, str | Path):
            if not _exists(Path(one)):
                near = _shipped().like(Path(one).name)
                raise InputError(
                    f"There is no file {cut(Path(one).name)} to take a profile from.",
                    "Name a profile by its whole address, or by a file with it." + (f" Near: {near}" if near else ""),
                )
            data = read_definition(Path(one))
            given.append(data)
            urls.append(text(data, "url"))
    library = open_library(paths, given) if paths or given else _shipped()
    return Asked(library, urls, server=_server(*server) if server else None, must=must)


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # an address that is too long for a name of a file
        return False


def _server(address: str, seconds: float) -> Server:
    from bridge.terminology.server import Server

    return Server(address, seconds)


def read_definition(path: Path) -> Json:
    """The definition in a file in JSON or XML. Raises InputError where there is none."""
    data, _ = read_received(read_file(path), path.name)
    if not isinstance(data, dict) or data.get("resourceType") != "StructureDefinition":
        raise InputError(f"{path.name} holds no StructureDefinition.", "Name a file with one profile, or its address.")
    return data


@cache
def _shipped() -> Library:
    return open_library()


@cache
def claims_only() -> Asked:
    """Nothing is asked for but what data claims of itself, against the definitions that are shipped."""
    return Asked()
