"""The practice's own settings, as `practice.yaml` keeps them."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from typing import Annotated, Any, Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, Field, PrivateAttr, field_validator, model_validator

from bridge.numbers import sctid_problem
from bridge.practice.audit_limits import AuditLimits
from bridge.practice.doctors import AddressBook
from bridge.practice.endpoints import Endpoint
from bridge.practice.zones import check_zone
from bridge.regions import region_names
from bridge.visit.base import Model, Short, check_when
from bridge.visit.people import Clinic, Name, Practitioner
from bridge.visit.people import Registration as VisitRegistration
from bridge.wording import languages


def _day(text: str) -> str:
    if len(check_when(text)) != len("2026-03-01"):
        raise ValueError("is not a whole date such as 2026-03-01")
    return text


_WEB = re.compile(r"https?://[^\s?#]+")
_EDITION = re.compile(r"http://snomed\.info/sct/(\d{6,18})/version/(\d{4})(\d\d)(\d\d)")


def _edition(text: str) -> str:
    found = _EDITION.fullmatch(text)
    if found is None or sctid_problem(found[1]):
        raise ValueError("is not http://snomed.info/sct/, the module's number, /version/ and the day as YYYYMMDD")
    _day("-".join(found.groups()[1:]))
    return text


Day = Annotated[str, AfterValidator(_day)]


def _web_address(text: str) -> str:
    if not _WEB.fullmatch(text):
        raise ValueError("is no address of a server, such as https://tx.example.org/r4")
    return text


def _region(name: str) -> str:
    if name not in region_names():
        raise ValueError(f"is none of {', '.join(region_names())}")
    return name


def _language(tag: str) -> str:
    if tag not in languages():
        raise ValueError(f"is none of {', '.join(languages())}")
    return tag


class Registration(Model):
    """An entry in a professional register: its key in `mappings/registers.csv` or else its name, and the number."""

    register_key: Short = Field(alias="register")
    number: Short


class Staff(Model):
    """Somebody who works for the practice. `key` is what records write, most often the initials."""

    key: Short
    name: Name
    role: Short
    registrations: tuple[Registration, ...] = ()
    no_register: bool = False
    phone: Short | None = None
    valid_from: Day | None = None
    valid_until: Day | None = None

    @model_validator(mode="after")
    def _dates(self) -> Staff:
        if self.valid_from and self.valid_until and self.valid_until < self.valid_from:
            raise ValueError("ends before it begins (valid_from, valid_until)")
        return self

    def works_on(self, day: str) -> bool:
        """Whether the person works on the day (YYYY-MM-DD), as far as the settings say."""
        return (self.valid_from or day) <= day <= (self.valid_until or day)

    def full_names(self) -> tuple[str, ...]:
        """The ways in which a record may write the whole name."""
        name = self.name
        plain = " ".join([*name.given, *([name.family] if name.family else [])])
        short = " ".join([*name.given[:1], *([name.family] if name.family else [])])
        titled = [f"{name.prefix} {way}" for way in (plain, short)] if name.prefix else []
        return tuple(dict.fromkeys([plain, short, *titled]))

    def as_practitioner(self) -> Practitioner:
        """As a visit holds them."""
        return Practitioner(
            key=self.key,
            name=self.name,
            role=self.role,
            registrations=tuple(
                VisitRegistration(register_key=r.register_key, number=r.number) for r in self.registrations
            ),
            no_register=self.no_register,
            phone=self.phone,
        )


class Server(Model):
    """A FHIR server of the practice's choice. What is asked of a terminology server is codes, never a client's data."""

    address: Annotated[str, Field(max_length=500), AfterValidator(_web_address)]
    seconds: Annotated[int, Field(ge=1, le=60)] = 5
    """How long one answer may take."""


class Practice(Model):
    """What the practice says of itself once, so that no record has to."""

    clinic: Clinic
    practitioners: tuple[Staff, ...] = Field(min_length=1)
    time_zone: Annotated[str, AfterValidator(check_zone)]
    region: Annotated[str, AfterValidator(_region)]
    language: Annotated[str, AfterValidator(_language)] = ""
    """In which language letters are written; empty for the region's own."""
    namespace: UUID
    """Random, made once; the identifiers of everything sent are made from it."""
    nhs_numbers: Literal["as recorded", "traced only"] = "as recorded"
    codes: Literal["free", "licensed"] = "free"
    """Which SNOMED CT codes words get: those that anybody may send, or finer ones that need a licence."""
    snomed_version: Annotated[str, AfterValidator(_edition)] | None = None
    """The edition that licensed codes are told to be of; none is told where the practice names none."""
    packages: tuple[Short, ...] = ()
    """Packages of profiles that are looked at too: paths of `.tgz` files or folders, seen from the practice folder."""
    terminology_server: Server | None = None
    """A FHIR terminology server that is asked what the tables cannot decide; none is asked where none is named."""
    endpoints: tuple[Endpoint, ...] = ()
    """FHIR servers that documents are sent to."""
    audit: AuditLimits = AuditLimits()
    """Rates at which `audit run` fails."""
    layouts: dict[Short, Short] = Field(default_factory=dict)
    """Pattern of a source's file name (`visits-*.csv`) to the layout it is read by; the first that fits."""

    _doctors: AddressBook = PrivateAttr(default_factory=AddressBook)

    @field_validator("layouts", mode="before")
    @classmethod
    def _one_layout(cls, value: Any) -> Any:
        return {"*": value} if isinstance(value, str) else ({} if value is None else value)

    @field_validator("endpoints")
    @classmethod
    def _names_once(cls, value: tuple[Endpoint, ...]) -> tuple[Endpoint, ...]:
        if len({endpoint.name for endpoint in value}) != len(value):
            raise ValueError("names two servers alike")
        return value

    @property
    def doctors(self) -> AddressBook:
        """The address book, from `doctors.csv`."""
        return self._doctors

    def with_doctors(self, doctors: AddressBook) -> Practice:
        """The same settings with this address book."""
        practice = self.model_copy()
        practice._doctors = doctors
        return practice

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def layout_for(self, file_name: str) -> str | None:
        """Name of the layout for a source, or None where the settings name none."""
        return next((layout for pattern, layout in self.layouts.items() if fnmatchcase(file_name, pattern)), None)
