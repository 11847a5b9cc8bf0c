"""A published CodeSystem as a small table that is quick to ask.

Source: https://hl7.org/fhir/R4/codesystem.html (content, concept, hierarchyMeaning, properties).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.shapes import Json

MOST_CONCEPTS = 300_000
LONGEST = 400
"""Characters of a display or of a property's value that are kept; longer values are of no use here."""

_PROPERTIES = "http://hl7.org/fhir/concept-properties#"
_KNOWN = {"parent", "child", "inactive", "notSelectable", "status"}
_OVER = {"inactive", "retired"}
"""Values of the property status that take a code out of use; a deprecated one may still be used."""


def compile_code_system(definition: Json) -> Json:
    """Keeps url, version, name, `content`, `case` (whether case matters; None where nothing says it), `valueSet`,
    `codes` (code to display), and where there are any: `parents`, `others` (more terms), `properties` (code to name to
    texts), `inactive`, `abstract`, `meaning` (of the hierarchy). Never raises for a bad shape: it is left out.
    """
    kept: Json = {key: definition[key] for key in ("url", "version", "name", "valueSet") if _text(definition, key)}
    kept["content"] = _text(definition, "content") or "not-present"
    case = definition.get("caseSensitive")
    kept["case"] = case if isinstance(case, bool) else None
    if meaning := _text(definition, "hierarchyMeaning"):
        kept["meaning"] = meaning
    if whole := _text(definition, "supplements"):
        kept["supplements"] = whole
    names = _names(definition)
    table: dict[str, Any] = {"codes": {}, "parents": {}, "others": {}, "properties": {}, "inactive": [], "abstract": []}
    for concept, parent in concepts(definition):
        _keep(table, concept, parent, names)
    count = definition.get("count")
    if kept["content"] == "complete" and isinstance(count, int) and count > len(table["codes"]):
        kept["content"] = "fragment"  # says that it is complete and holds fewer codes than it counts
    return kept | {key: value for key, value in table.items() if value or key == "codes"}


def concepts(definition: Json) -> Iterator[tuple[Json, str]]:
    """The concepts of a CodeSystem in their order, each with the code it stands under."""
    left: list[tuple[Any, str]] = [(one, "") for one in reversed(items(definition, "concept"))]
    for _ in range(MOST_CONCEPTS):
        if not left:
            return
        concept, parent = left.pop()
        if code := _text(concept, "code"):
            yield concept, parent
            left += [(one, code) for one in reversed(items(concept, "concept"))]


def items(data: Json, key: str) -> list[Json]:
    """The objects of a list; nothing where it is none."""
    found = data.get(key)
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def terms(concept: Json) -> list[str]:
    """The designations of a concept."""
    return [value for one in items(concept, "designation") if (value := _text(one, "value")) and len(value) <= LONGEST]


def _keep(table: dict[str, Any], concept: Json, parent: str, names: dict[str, str]) -> None:
    code = concept["code"]
    table["codes"].setdefault(code, _text(concept, "display")[:LONGEST])
    if parent:
        _add(table["parents"], code, parent)
    for term in terms(concept):
        _add(table["others"], code, term)
    for one in items(concept, "property"):
        name, value = _text(one, "code"), _value(one)
        kind = names.get(name, name)
        if not name or value is None:
            continue
        if kind == "parent":
            _add(table["parents"], code, value)
        elif kind == "child":
            _add(table["parents"], value, code)
        else:
            _add(table["properties"].setdefault(code, {}), name, value)
        if (kind == "inactive" and value == "true") or (kind == "status" and value.lower() in _OVER):
            _once(table["inactive"], code)
        if kind == "notSelectable" and value == "true":
            _once(table["abstract"], code)


def _names(definition: Json) -> dict[str, str]:
    """A system's own names of the properties that the standard gives a meaning."""
    found = {"abstract": "notSelectable"}
    for one in items(definition, "property"):
        kind = _text(one, "uri").removeprefix(_PROPERTIES)
        if kind in _KNOWN:
            found[_text(one, "code")] = kind
    return found


def _value(one: Json) -> str | None:
    """The value of a property as text: codes and numbers as they are, true and false, the code of a coding."""
    for key, value in one.items():
        if key.startswith("value"):
            if isinstance(value, bool):
                return "true" if value else "false"
            if isinstance(value, dict):
                value = value.get("code")
            found = str(value) if isinstance(value, str | int | float) else ""
            return found if 0 < len(found) <= LONGEST else None
    return None


def _add(table: dict[str, list[str]], key: str, value: str) -> None:
    _once(table.setdefault(key, []), value)


def _once(values: list[str], value: str) -> None:
    if value not in values[-50:]:
        values.append(value)


def _text(data: Json, key: str) -> str:
    value = data.get(key)
    return value if isinstance(value, str) else ""
