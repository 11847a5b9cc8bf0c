"""What data is held against beyond the standard: definitions at hand, a terminology server, profiles asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache

from bridge.check.profiles.plans import Plans
from bridge.check.profiles.run import Held, Run
from bridge.profiles.library import Library, open_library
from bridge.terminology.members import Terminology
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
        self.terminology = Terminology(self.library.value_set, self.library.code_system, server)

    def run(self, explain: Callable[[Held], None] | None = None) -> Run:
        """A new run, for one piece of data."""
        return Run(self.plans, self.terminology, explain, self.must)


@cache
def _shipped() -> Library:
    return open_library()


@cache
def claims_only() -> Asked:
    """Nothing is asked for but what data claims of itself, against the definitions that are shipped."""
    return Asked()
