"""What every part of a visit is made of: words, measures, places, moments."""

import re
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from bridge.ear_words import Assertion

Answer = Literal["normal", "not seen", "not examined"]
"""Three of the four answers; the fourth, not recorded, is the field's absence."""

_WHEN = re.compile(
    r"(?P<y>\d{4})(-(?P<m>\d\d)(-(?P<d>\d\d)(T(?P<H>\d\d):(?P<M>\d\d)(:(?P<S>\d\d)(\.\d+)?)?(Z|[+-]\d\d:\d\d))?)?)?"
)


def check_when(text: str) -> str:
    """A moment as precise as it is known: `2010`, `2010-05`, `2010-05-03`, `2010-05-03T10:15+01:00`.

    Seconds only where they were recorded: `10:15` and `10:15:00` are different statements. A time
    always carries its offset. Raises ValueError for anything else, and for days that do not exist.
    """
    found = _WHEN.fullmatch(text)
    if not found:
        raise ValueError("is not a date (2010, 2010-05, 2010-05-03) or a date and time with its zone")
    part = {k: int(v) for k, v in found.groupdict().items() if v}
    try:
        date(part["y"], part.get("m", 1), part.get("d", 1))
    except ValueError:
        raise ValueError("is a day that does not exist") from None
    if part.get("H", 0) > 23 or part.get("M", 0) > 59 or part.get("S", 0) > 59:
        raise ValueError("is a time that does not exist")
    return text


When = Annotated[str, AfterValidator(check_when), Field(json_schema_extra={"format": "partial-date-time"})]


_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
"""Control characters, those that turn the direction of writing ("thgir" could show as a side), and no characters."""


def _words(text: str) -> str:
    if not text.strip():
        raise ValueError("is empty")
    if not text.isprintable() and _CONTROL.search(text):
        raise ValueError("holds control characters")
    return text


Text = Annotated[str, AfterValidator(_words), Field(min_length=1, max_length=20_000)]
"""Words of a person: never empty, no control characters, at most 20,000 characters."""

Short = Annotated[str, AfterValidator(_words), Field(min_length=1, max_length=200)]


class Model(BaseModel):
    """Unknown fields are refused, values do not change, blanks around words do not count."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True, defer_build=True)


class Filled(Model):
    """A group of optional fields that must not be there when none of them is."""

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if all(value is None or (isinstance(value, tuple) and not value) for value in self.__dict__.values()):
            raise ValueError("says nothing")
        return self


class Coding(Model):
    """One code for a term, from a row of `mappings/` or from a received record."""

    system: Short
    code: Short
    display: Short | None = None
    version: Short | None = None


class Term(Model):
    """The practitioner's own words, with the codes they stand for once coded.

    A plain string is taken as the words. `assertion` says whether the term is stated, suspected,
    denied or past; while it is None nobody has read that from the words yet (coding does, for the
    fields whose terms can be denied or doubted).
    """

    text: Short
    codings: tuple[Coding, ...] = ()
    assertion: Assertion | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"text": value} if isinstance(value, str) else value


class Measure(Model):
    """A number with its unit as a UCUM code (`mm`, `kPa`, `mm[Hg]`, `Cel`, `mL`, `s`, `min`, `%`)."""

    value: Decimal = Field(allow_inf_nan=False, max_digits=12, ge=Decimal(-100_000), le=Decimal(100_000))
    unit: Literal[
        "mm", "cm", "Pa", "daPa", "kPa", "mm[Hg]", "mbar", "bar", "mm[H2O]", "cm[H2O]", "mL", "L", "cm3",
        "mmho", "Cel", "s", "min", "h", "d", "wk", "mo", "a", "%", "dB", "Hz", "kHz", "L/min", "mL/min",
        "[drp]", "g", "1",
    ]  # fmt: skip


class Size(Model):
    """An instrument's size with the label of its scale; a bare number is no size.

    French: outer diameter in mm = Fr / 3; gauge: bigger number = smaller, no formula.
    """

    value: Decimal = Field(gt=0, le=200, max_digits=6)
    scale: Literal["mm", "Fr", "G"]


class Place(Filled):
    """Where inside one ear. Clock positions are read looking into that ear from outside, so they
    are mirrored between ears: 3 o'clock is anterior in a right ear, posterior in a left one."""

    third: Term | None = None
    depth: Measure | None = None
    """From the canal's entrance, in mm."""
    clock_from: int | None = Field(None, ge=1, le=12)
    clock_to: int | None = Field(None, ge=1, le=12)
    """Clockwise from `clock_from`; the same number or none means a single point."""
    walls: tuple[Term, ...] = ()
    parts: tuple[Term, ...] = ()
    """Parts of the drum: quadrants, pars tensa, pars flaccida."""

    @model_validator(mode="after")
    def _clock(self) -> Self:
        if self.clock_to is not None and self.clock_from is None:
            raise ValueError("has clock_to without clock_from")
        if self.depth is not None and self.depth.unit != "mm":
            raise ValueError("has a depth that is not in mm")
        return self
