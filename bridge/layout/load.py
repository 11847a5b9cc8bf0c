"""Reads a layout file and checks all of it at once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from bridge.errors import MappingError
from bridge.issues import Issue, Severity, Where, issue
from bridge.layout.asked import asked
from bridge.layout.fields import find_field
from bridge.layout.formats import Format, clash, date_format, time_format
from bridge.layout.model import Column, Layout, Target
from bridge.layout.refused import refused
from bridge.layout.schema import Fault, faults, load_schema
from bridge.layout.tables import cell_words, fold
from bridge.layout.targets import applies, make_target, meanings
from bridge.marked_yaml import MarkedYamlError, Places, load_marked

_DATES, _TIMES = ["yyyy-mm-dd"], ["HH:MM", "HH:MM:SS"]
Problems = list[tuple[str, Fault]]


class LayoutError(MappingError):
    """A layout with errors; `issues` are all of them."""

    def __init__(self, file: str, issues: list[Issue]) -> None:
        told = "\n".join(f"  {i.where}: {i.message} ({i.rule})" for i in issues if i.severity >= Severity.error)
        super().__init__(f"The layout {file} cannot be used:\n{told}", "Mend the lines named; nothing was read.")
        self.issues = issues


def load_layout(path: Path) -> Layout:
    """A layout. Raises LayoutError with every issue when it has errors."""
    layout, issues = check_layout(path)
    if layout is None or any(i.severity >= Severity.error for i in issues):
        raise LayoutError(path.name, issues)
    return layout


def load_layouts(folder: Path) -> list[Layout]:
    """Every layout of a folder, by file name."""
    return [load_layout(path) for path in sorted([*folder.glob("*.yaml"), *folder.glob("*.yml")])]


def load_usable(folder: Path) -> tuple[list[Layout], list[MappingError]]:
    """The layouts of a folder that can be used, by file name, and why the others cannot."""
    usable: list[Layout] = []
    broken: list[MappingError] = []
    for path in sorted([*folder.glob("*.yaml"), *folder.glob("*.yml")]):
        try:
            usable.append(load_layout(path))
        except MappingError as error:
            broken.append(error)
    return usable, broken


def check_layout(path: Path) -> tuple[Layout | None, list[Issue]]:
    """The layout, None where it cannot be one, and everything that is wrong with the file (R2xx)."""
    try:
        data, places = load_marked(path.read_bytes())
    except OSError as error:
        raise MappingError(f"The layout {path.name} cannot be read: {error.strerror}.") from None
    except MarkedYamlError as error:
        where = Where(path.name, row=error.line, column=error.column)
        return None, [issue("R201", f"The layout {error.message}.", where)]
    if questions := list(asked(data)):
        return None, [_issue("R220", fault, path.name, places) for fault in questions]
    shape = list(faults(data, schema := load_schema("layout"), schema))
    problems: Problems = [("R202", Fault(f.path, _told(f), f"{f.cause}:{f.path}")) for f in shape]
    layout = None if shape else _layout(data, path.name, problems)
    return layout, [_issue(rule, fault, path.name, places) for rule, fault in problems]


def _told(fault: Fault) -> str:
    return f"“{fault.path.rpartition('.')[2][:60]}” {fault.message}." if fault.path else f"The layout {fault.message}."


def _issue(rule: str, fault: Fault, file: str, places: Places) -> Issue:
    at = fault.path
    while at not in places and at:
        at = at.rpartition(".")[0]
    line, column = places.get(at, (1, 1))
    return issue(rule, fault.message, Where(file, row=line, column=column), cause=f"{fault.path}:{fault.cause}")


def _layout(data: dict[str, Any], file: str, problems: Problems) -> Layout:
    words = data.get("words", {})
    columns = tuple(_columns(data, words, problems))
    layout = Layout(
        name=data["name"],
        rows=data["rows"],
        columns=columns,
        encoding=data.get("encoding", "auto"),
        delimiter={"tab": "\t"}.get(data.get("delimiter", "auto"), data.get("delimiter", "auto")),
        sheet=_sheets(data.get("sheet", [])),
        query=_query(data, problems),
        heading_rows=int(data.get("heading_rows", 0)),
        start_from=_day(data, problems),
        serial=1900 if "serial" in data.get("dates", ()) else 0,
        dates=_formats(data, "dates", _DATES, problems),
        times=_formats(data, "times", _TIMES, problems),
        two_digit_years=int(data["two_digit_years"]) if "two_digit_years" in data else None,
        blank_cells=frozenset(fold(w) for w in data.get("blank_cells", ())),
        yes=frozenset(fold(w) for w in data.get("yes", ())) or cell_words()["yes"],
        no=frozenset(fold(w) for w in data.get("no", ())) or cell_words()["no"],
        constants=tuple(_constants(data, problems)),
        file=file,
    )
    _whole(layout, words, problems)
    return layout


def _columns(data: dict[str, Any], words: dict[str, dict[str, str]], problems: Problems) -> Iterator[Column]:
    seen: dict[str, str] = {}
    for heading, said in data["columns"].items():
        at = f"columns.{heading}"
        if (other := seen.setdefault(fold(heading), heading)) != heading:
            told = f"The heading is named twice: “{other[:60]}”, “{heading[:60]}”."
            problems.append(("R212", Fault(at, told, "twice")))
        specs = [(at, said)] if not isinstance(said, list) else [(f"{at}[{i}]", s) for i, s in enumerate(said)]
        if any((s if isinstance(s, str) else s["to"]) == "ignore" for _, s in specs):
            yield Column(heading, (), True)
            continue
        targets = [t for place, s in specs if (t := make_target(s, place, data["rows"], words, problems))]
        optional = any(isinstance(s, dict) and s.get("optional", "no") in ("yes", "true") for _, s in specs)
        yield Column(heading, tuple(targets), optional)


def _constants(data: dict[str, Any], problems: Problems) -> Iterator[tuple[Target, str]]:
    for path, value in data.get("constants", {}).items():
        at = f"constants.{path}"
        target = make_target(path, at, data["rows"], {}, problems)
        if target is None:
            continue
        if why := refused(target.field, value):
            problems.append(("R205", Fault(at, f"A layout cannot supply this: {why}.", "constant")))
        elif (allowed := meanings(target.field)) and fold(value) not in allowed and target.field.kind == "choice":
            problems.append(("R206", Fault(at, f"“{value[:60]}” is not one of: {', '.join(allowed)}.", "constant")))
        else:
            yield target, value


def _formats(data: dict[str, Any], name: str, default: list[str], problems: Problems) -> tuple[Format, ...]:
    found = []
    for index, text in enumerate(data.get(name, default)):
        if name == "dates" and text == "serial":
            continue
        try:
            found.append(date_format(text) if name == "dates" else time_format(text))
        except ValueError as error:
            problems.append(("R204", Fault(f"{name}[{index}]", f"“{text[:60]}” {error}.", "format")))
    formats = tuple(found)
    if name == "dates" and (two := clash(formats)):
        told = f"By “{two[0].text}” and “{two[1].text}” one date could be read two ways; keep one of them."
        problems.append(("R204", Fault(name, told, "clash")))
    return formats


def _sheets(said: str | list[str]) -> tuple[str, ...]:
    return (said,) if isinstance(said, str) else tuple(said)


def _query(data: dict[str, Any], problems: Problems) -> str:
    """The query of a layout. Whether a database can answer it shows when one is read; that it only reads, here."""
    query = str(data.get("query", "")).strip().rstrip(";").strip()
    if query and query.split(None, 1)[0].casefold() not in ("select", "with"):
        problems.append(("R217", Fault("query", "The query does not begin with SELECT.", "query")))
    if query and "sheet" in data:
        problems.append(("R217", Fault("query", "A layout has a query or names a sheet, not both.", "both")))
    return query


def _day(data: dict[str, Any], problems: Problems) -> date | None:
    try:
        return date.fromisoformat(data["start_from"]) if "start_from" in data else None
    except ValueError:
        problems.append(("R204", Fault("start_from", "This is a day that does not exist.", "day")))
        return None


def _whole(layout: Layout, words: dict[str, dict[str, str]], problems: Problems) -> None:
    """What only shows when the layout is seen as a whole."""
    targets = layout.targets()
    if not problems:
        for path, told in (("start", "the visit's date (start.date)"), ("client.legal_name", "the client's name")):
            if not layout.fills(path):
                problems.append(("R211", Fault("columns", f"No column gives {told}.", path)))
        if layout.rows == "ear" and not layout.fills("ear"):
            problems.append(("R211", Fault("columns", "No column says which ear a row is about (ear).", "ear")))
    filled: set[tuple[str, str]] = set()
    for column in layout.columns:
        for target in column.targets:
            field = target.field
            several = field.many or field.path.endswith("note") or (field.kind == "model" and target.separator)
            key = (f"{field.scope}:{field.path}", field.part)
            if not several and key in filled and not column.optional:
                told = f"Two columns fill {field.pattern}, which holds one thing."
                problems.append(("R213", Fault(f"columns.{column.heading}", told, key[0])))
            filled.add(key)
    for pattern, table in words.items():
        fields = [t.field for t in targets if applies(pattern, t.field)]
        if not fields and all(find_field(p.strip(), layout.rows) is None for p in pattern.split(",")):
            told = f"No column fills a field like “{pattern[:60]}”."
            problems.append(("R214", Fault(f"words.{pattern}", told, pattern)))
        for word, value in table.items():
            for field in fields:
                allowed = meanings(field)
                if allowed is not None and fold(value).partition(" (")[0] not in allowed and value not in allowed:
                    told = f"“{value[:60]}” is not among the words of {field.pattern}: {', '.join(allowed) or 'none'}."
                    problems.append(("R206", Fault(f"words.{pattern}.{word}", told, value)))
                    break
