"""`bridge.check_resource`: any FHIR R4 resource, from wherever it came, against the standard."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.check.conformance import check_with_profiles
from bridge.check.order import most_telling_first
from bridge.fhir.files import read_file
from bridge.fhir.positions import placed
from bridge.fhir.received import read_received
from bridge.issues import Issue, Report

if TYPE_CHECKING:
    from bridge.check.profiles import Asked


def check_resource(data: Any, profiles: Sequence[Any] = (), definitions: Sequence[Any] = ()) -> Report:
    """Whether a resource or Bundle conforms to FHIR R4 (4.0.1) and to profiles; the report holds every departure, most
    telling first.

    `data` is JSON data (dict, list, bool, int, float or Decimal), the bytes of a file in JSON, NDJSON or XML, or the
    path of one as Path or text. From bytes every issue has line and column. Nothing is raised for what is wrong with
    the data; InputError where a path cannot be read. Checks of the trade are apart: `check_bundle`.

    Profiles that the data claims (`meta.profile`) are looked at wherever they are at hand. `profiles` are those that
    the outermost resource has to conform to whatever it claims: addresses, definitions as JSON data, or paths of files
    with one. `definitions` adds to what is shipped: JSON data (StructureDefinition, ValueSet, CodeSystem), or paths of
    packages (`.tgz`), folders and files. What they lack is told with the issues.
    """
    asked = _asked(profiles, definitions) if profiles or definitions else None
    name = ""
    if isinstance(data, str | Path):
        name, data = Path(data).name, read_file(data)
    elif isinstance(data, bytearray | memoryview):
        data = bytes(data)
    if not isinstance(data, bytes):
        found = _checked(data, asked)
        return Report(most_telling_first(_expressed(found, data)) if found else [])
    read, issues = read_received(data, name)
    found = [*issues, *(_checked(read, asked) if read is not None else ())]
    return Report(most_telling_first(placed(found, data, name, read)) if found else [])


def _asked(profiles: Sequence[Any], definitions: Sequence[Any]) -> Asked:
    from bridge.check.profiles.asked import asked_for

    return asked_for(profiles, definitions)


def _checked(data: Any, asked: Asked | None) -> list[Issue]:
    return [*(asked.library.issues if asked else ()), *check_with_profiles(data, asked)]


def _expressed(found: list[Issue], data: Any) -> list[Issue]:
    from bridge.fhir.fhirpath_of import with_expressions

    return with_expressions(found, data)
