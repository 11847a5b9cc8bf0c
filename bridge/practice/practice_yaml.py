"""Reads `practice.yaml`: the settings, and all that is wrong with them at once, line by line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel, ValidationError

from bridge.issues import Issue, Severity, Where, issue
from bridge.marked_yaml import MarkedYamlError, Places, load_marked
from bridge.practice.audit_limits import AuditLimits, Ceilings, Floors
from bridge.practice.endpoints import Endpoint, Smart
from bridge.practice.names import fold, listed, nearest, quoted
from bridge.practice.reached import PROBLEMS
from bridge.practice.registers import load_registers
from bridge.practice.settings import Practice, Registration, Server, Staff
from bridge.practice_place import FILE
from bridge.visit.people import Address, Clinic, Name

_LEVELS: dict[str, type[BaseModel]] = {
    "": Practice, "clinic": Clinic, "address": Address, "practitioners": Staff, "name": Name,
    "registrations": Registration, "terminology_server": Server, "endpoints": Endpoint, "smart": Smart,
    "audit": AuditLimits, "floors": Floors, "ceilings": Ceilings,
}  # fmt: skip


def read_settings(content: bytes, file: str = FILE) -> tuple[Practice | None, list[Issue]]:
    """The settings from the file's bytes, with every problem; None where an error stands among them.

    `file` is the name shown in places.
    """
    try:
        data, places = load_marked(content)
    except MarkedYamlError as error:
        where = Where(file, row=error.line, column=error.column)
        return None, [issue("R301", f"{file} {error.message}.", where)]
    return check_settings(data, places, file)


def check_settings(data: Any, places: Places, file: str = FILE) -> tuple[Practice | None, list[Issue]]:
    """The same from plain data and the places of its fields."""
    data = without_empty(data)
    if not isinstance(data, dict):
        return None, [issue("R301", f"{file} does not hold settings (names with values).", Where(file, row=1))]
    practice, problems = None, list[tuple[str, str, str]]()
    try:
        practice = Practice.model_validate(data)
    except ValidationError as error:
        problems += [_problem(p) for p in error.errors(include_url=False)]
    problems += _check_namespace(practice)
    problems += _check_staff(list(_valid_staff(data)))
    problems += _check_reply(data)
    problems += _check_edition(data)
    issues = [issue(rule, text, _where(file, path, places)) for rule, path, text in problems]
    issues.sort(key=lambda i: (i.where.row or 0, i.where.column or 0))
    return (None if any(i.severity >= Severity.error for i in issues) else practice), issues


def without_empty(value: Any) -> Any:
    """A setting with nothing behind its colon is a setting that is not set."""
    if isinstance(value, dict):
        return {k: without_empty(v) for k, v in value.items() if v is not None}
    return [without_empty(v) for v in value if v is not None] if isinstance(value, list) else value


def _where(file: str, path: str, places: Places) -> Where:
    """The field's line, or that of the nearest field around it."""
    near = path
    while near and near not in places:
        near = near[: max(near.rfind("."), near.rfind("["), 0)]
    line, column = places.get(near, (1, 1))
    return Where(file, row=line, column=column, path=path)


def _problem(error: Any) -> tuple[str, str, str]:
    """Rule, field path and message for one of pydantic's errors."""
    loc, kind = error["loc"], error["type"]
    path = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in loc).lstrip(".")
    if loc[:1] == ("namespace",):
        return "R311", path, f"The setting namespace is {'missing' if kind == 'missing' else 'not a UUID'}."
    if path == "codes":
        return "M130", path, "The setting codes must be free or licensed."
    if path == "snomed_version":
        return "M131", path, "The setting snomed_version does not name an edition by its address."
    name = path or "practice.yaml"
    if kind == "missing":
        return "R303", path, f"The setting {name} is missing."
    if kind == "extra_forbidden":
        return "R302", path, f"There is no setting {name}.{_hint(loc)}"
    if kind == "value_error":
        rule = "R305" if path == "time_zone" else "R304"
        value = f" {quoted(error['input'])}" if path == "time_zone" and isinstance(error["input"], str) else ""
        return rule, path, f"The setting {name}{value} {error['ctx']['error']}."
    return "R304", path, f"The setting {name} {_shape(kind, error)}."


def _hint(loc: tuple[Any, ...]) -> str:
    around = next((part for part in reversed(loc[:-1]) if isinstance(part, str)), "")
    fields = _LEVELS[around].model_fields if around in _LEVELS else {}
    near = nearest(str(loc[-1]), [info.alias or name for name, info in fields.items()], 1)
    return f" The nearest known one is {quoted(near[0])}." if near else ""


def _shape(kind: str, error: Any) -> str:
    match kind:
        case "literal_error":
            return f"must be {error['ctx']['expected'].replace(chr(39), '')}"
        case "bool_parsing" | "bool_type":
            return "must be true or false"
        case "tuple_type" | "list_type":
            return "must be a list: each item on a line of its own, after a hyphen"
        case "too_short":
            return "is an empty list"
        case "model_type" | "model_attributes_type" | "dict_type":
            return "must hold settings of its own: names with values, each on a line of its own"
        case "string_type":
            return "must be a single text"
        case "less_than_equal":
            return f"must be {error['ctx']['le']} at the most"
        case "greater_than_equal":
            return f"must be {error['ctx']['ge']} at least"
        case "string_too_long":
            return f"is longer than {error['ctx']['max_length']} characters"
        case _:
            return f"does not fit ({error['msg']})"


def _check_namespace(practice: Practice | None) -> Iterator[tuple[str, str, str]]:
    if practice is not None and practice.namespace.version != 4:
        yield "R311", "namespace", "The setting namespace is a UUID, but not a random one (version 4)."


def _valid_staff(data: dict[str, Any]) -> Iterator[tuple[int, Staff]]:
    people = data.get("practitioners")
    for index, person in enumerate(people if isinstance(people, list) else []):
        try:
            yield index, Staff.model_validate(person)
        except ValidationError:
            continue


def _check_staff(staff: list[tuple[int, Staff]]) -> Iterator[tuple[str, str, str]]:
    registers = load_registers()
    names: dict[str, int] = {}
    for index, person in staff:
        path = f"practitioners[{index}]"
        who = f"practitioner {quoted(person.key)}"
        if bool(person.registrations) == person.no_register:
            said = "is on a register and on none" if person.no_register else "has no registration and no no_register"
            yield "R306", path, f"The {who} {said}."
        for number, entry in enumerate(person.registrations):
            register = registers.get(entry.register_key)
            at = f"{path}.registrations[{number}]"
            if register is None:
                known = listed(list(registers), "and")
                text = f"The register {quoted(entry.register_key)} is not in the table of registers ({known})."
                yield "R307", f"{at}.register", text
            elif not register.usual(entry.number):
                text = f"The number of {who} in {register.key} is not {register.in_words}."
                yield "R308", f"{at}.number", text
        for name in {fold(n) for n in (person.key, *person.full_names())}:
            if names.setdefault(name, index) != index:
                text = f"The {who} has a key or name that practitioner {names[name] + 1} of the list has too."
                yield "R309", path, text
                break


def _check_reply(data: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    clinic = data.get("clinic")
    if isinstance(clinic, dict):
        lacking = [word for word, field in (("phone number", "phone"), ("hours", "hours")) if not clinic.get(field)]
        if lacking:
            yield "R310", "clinic", f"The clinic has no {listed(lacking)} for replies."
        for name, problem in PROBLEMS.items():
            if isinstance(text := clinic.get(name), str) and (why := problem(text)):
                yield "R312", f"clinic.{name}", f"The setting clinic.{name} is of an unusual shape: it {why}."


def _check_edition(data: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    if "snomed_version" in data and data.get("codes", "free") == "free":
        yield "M132", "snomed_version", "The setting snomed_version stands there without codes: licensed."
