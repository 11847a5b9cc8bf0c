"""What a row of a term map says."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bridge.errors import MappingError
from bridge.fhir.own import verified
from bridge.fhir.systems import OWN
from bridge.visit.base import Coding


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of terms: its fields, whether its terms can be doubted, and where else its words are looked up.

    `open`: any words are usual there (a medicine, an advice), so that unknown ones are no cause for a warning; what is
    simply stated there needs no assertion.
    """

    name: str
    label: str
    assertable: bool
    open: bool
    fields: tuple[str, ...]
    also: tuple[str, ...]


@dataclass(frozen=True)
class Concept:
    """One meaning that words of a kind can have. `codes` are verified external ones (`sct:18070006`)."""

    kind: str
    code: str
    label: str
    words: tuple[str, ...]
    codes: tuple[str, ...]
    evidence: str
    edition: str
    note: str
    published: bool = True
    """False for a concept of a practice's own overlay: it has no code in the published own system."""

    @cached_property
    def own_coding(self) -> tuple[Coding, ...]:
        return (Coding(system=OWN, code=self.code, display=self.label),) if self.published else ()

    @cached_property
    def codings(self) -> tuple[Coding, ...]:
        """Verified external codes first, the own code last. MappingError for a code without evidence."""
        known = verified()
        try:
            return (*(Coding(**known[code]) for code in self.codes), *self.own_coding)
        except KeyError as error:
            raise MappingError(
                f"The term {self.code} has the code {error.args[0]}, which is not verified.",
                "Only codes of mappings/codes can be used; leave the cell empty to keep the words without a code.",
            ) from None
