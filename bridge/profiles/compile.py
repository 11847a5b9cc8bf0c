"""Compiles a structure to a profile: a tree of only what it asks for beyond its base type.

A node of the tree is a dict; what has nothing to say is left out:

    name        last part of the element's path (`identifier`, `value[x]`), empty for the root
    id          the element's id as its author wrote or the snapshot gave it
    slice       name of the slice (`nhsNumber`), and of a slice of a slice (`nhsNumber/old`)
    min, max    how often it must and may be there; `max` is absent for any number
    types       where fewer are allowed, or more is asked of them: {code: {profiles: [url], targets: [url],
                modes: [how a reference may lead there]}}
    fewer       whether fewer types are allowed than by the base type
    fixed, pattern              [key, value]; the key says the type (`fixedUri`)
    least, most, length         minValue and maxValue as [key, value], maxLength
    binding                     [strength, value set]; a second one where a largest set is named, which is required,
                                or, where a code is only preferred, `largest`: nothing but words may stand there too
    constraints                 [[key, severity, expression, words]]
    must                        whether it is marked must-support
    slicing                     {by: [[type, path]], rules, ordered}
    slices                      nodes
    parts                       nodes of its own elements
    like                        id of the element that it repeats (contentReference)

Source of what the properties mean: https://hl7.org/fhir/R4/elementdefinition.html.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from typing import Any

from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.profiles.facts import ADDITIONAL
from bridge.profiles.snapshot.problems import Problems
from bridge.profiles.snapshot.tree import with_ids
from bridge.shapes import Json

CORE = "http://hl7.org/fhir/StructureDefinition/"
MAX_VALUE_SET = f"{CORE}elementdefinition-maxValueSet"
FHIR_TYPE = f"{CORE}structuredefinition-fhir-type"
SYSTEM_TYPE = "http://hl7.org/fhirpath/System."
MODES = ("contained", "referenced", "bundled")
BOUND = ("required", "extensible")
TOLD = (
    "url", "version", "name", "title", "type", "kind", "derivation", "abstract", "base", "context", "contextInvariant",
    "imposes",
)  # fmt: skip
MEANT = {
    "($this as dateTime).toString().length() >= 8": (
        "($this is dateTime and hasValue()) implies toString().length() >= 8"
    )
}
"""Published expressions that are not true of all that their words allow: vs-1 speaks of a dateTime with a value."""
MOST_LEVELS = 60
"""Parts in parts that are compiled; a definition that goes deeper is no definition of anything real."""
_ANY = frozenset({"Resource", "DomainResource"})


def compile_profile(structure: Json) -> Json:
    """The profile of a structure whose snapshot is complete: what stands on top of it, and `root`. Of an extension also
    whether it modifies, as its first element.

    Nothing is raised for what is odd in the structure; what cannot be placed is left out and told in `problems`; a
    structure without elements of a type of R4 gives a profile that is `unusable`.
    """
    problems: list[str] = []
    tree = _tree(structure.get("elements"), problems)
    about = {key: structure[key] for key in TOLD if key in structure}
    first = next(iter(structure.get("elements") or ()), None)
    if structure.get("type") == "Extension" and isinstance(first, dict):
        about["elements"] = [{"path": "Extension", "isModifier": first.get("isModifier") is True}]
    type = structure.get("type")
    if tree is None or not isinstance(type, str) or not tables.knows(type):
        problems.append("It has no elements of a type of FHIR R4.")
        return {**about, "root": {"name": "", "id": str(type)}, "problems": problems, "unusable": True}
    place = Element("", type, False, True, tables.is_primitive(type), "", frozenset(), "", "")
    root = _node(tree, (place,), 0)
    return {**about, "root": {**root, "name": ""}, **({"problems": problems} if problems else {})}


class _Branch:
    """An element with what stands under it, in the order of the snapshot."""

    __slots__ = ("element", "name", "parts", "slice", "slices")

    def __init__(self, element: Json, name: str, sliced: str) -> None:
        self.element, self.name, self.slice = element, name, sliced
        self.parts: dict[str, _Branch] = {}
        self.slices: dict[str, _Branch] = {}


def _tree(elements: Any, problems: list[str]) -> _Branch | None:
    """The flat list as a tree, by the ids: `Patient.identifier:nhs.value`."""
    root: _Branch | None = None
    told = Problems()
    usable = [
        e for e in _dicts(elements) if all(isinstance(e.get(key, ""), str) for key in ("id", "path", "sliceName"))
    ]
    for id, found in with_ids(usable, told):
        element = found if found.get("id") == id else {**found, "id": id}
        if root is None:
            root = _Branch(element, "", "")
            continue
        at = root
        type, *steps = id.split(".")
        for number, step in enumerate(steps):
            name, _, sliced = step.partition(":")
            last = number == len(steps) - 1
            whole = at.parts.get(name)
            if whole is None:
                left_out = {"id": ".".join((type, *steps[:number], name))}
                own = element if last and not sliced else left_out
                whole = at.parts[name] = _Branch(own, name, "")
            if sliced:
                slices = _above(whole, sliced).slices
                if sliced not in slices:
                    if not last:
                        problems.append(f"{id[:120]} stands under nothing.")
                        break
                    slices[sliced] = _Branch(element, name, sliced)
                at = slices[sliced]
            else:
                at = whole
    problems += told.all()
    return root


def _above(whole: _Branch, sliced: str) -> _Branch:
    """What a slice divides: the element itself, or for `a/b` the slice `a`."""
    at, parts = whole, sliced.split("/")
    for number in range(1, len(parts)):
        at = at.slices.get("/".join(parts[:number]), at)
    return at


def _node(branch: _Branch, places: tuple[Element, ...], depth: int) -> Json:
    """The node of a branch. `places`: the element in its base type, as one Element for each type it can be."""
    element, sliced = branch.element, branch.slice
    node: Json = {"name": branch.name, "id": element.get("id") or element.get("path")}
    if sliced:
        node["slice"] = sliced
    _cardinality(node, element, places, bool(sliced))
    types = _types(element)
    _keep_types(node, types, places)
    for key, value in element.items():
        if key.startswith("fixed"):
            node["fixed"] = [key, value]
        elif key.startswith("pattern"):
            node["pattern"] = [key, value]
        elif key.startswith("minValue"):
            node["least"] = [key, value]
        elif key.startswith("maxValue") and key != "maxValueSet":
            node["most"] = [key, value]
    if isinstance(length := element.get("maxLength"), int):
        node["length"] = length
    if bindings := _bindings(element.get("binding"), places):
        node["binding"] = bindings
    if constraints := _constraints(element.get("constraint")):
        node["constraints"] = constraints
    if element.get("mustSupport") is True:
        node["must"] = True
    if (slicing := _slicing(element.get("slicing"))) and (branch.slices or slicing["rules"] == "closed"):
        node["slicing"] = slicing
    if isinstance(like := element.get("contentReference"), str) and like.startswith("#"):
        node["like"] = like[1:]
    if depth < MOST_LEVELS:
        parts = [p for p in _parts(branch, places, types, depth) if _says_something(p)]
        slices = [_node(s, places, depth + 1) for s in branch.slices.values()]
        if parts:
            node["parts"] = parts
        if slices:
            node["slices"] = slices
            node.setdefault("slicing", {"by": _without_saying(branch.name), "rules": "open", "ordered": False})
    return node


def _parts(branch: _Branch, places: tuple[Element, ...], types: Json, depth: int) -> Iterator[Json]:
    codes = list(types) if types else [place.type for place in places]
    inner = [place.type for place in places if tables.is_part(place.type)] or codes
    for name, part in branch.parts.items():
        if name == "value" and all(map(tables.is_primitive, codes)):
            continue  # what a simple type itself holds, which is no element in JSON
        found = tuple(p for code in dict.fromkeys(inner) for p in _places(code, name))
        yield _node(part, tuple(dict.fromkeys(found)), depth + 1)


@cache
def _places(type: str, name: str) -> tuple[Element, ...]:
    """The element of a type in the tables, one for each type of a choice; of a simple type its id and extensions."""
    known = tables.elements("Element" if tables.is_primitive(type) else type)
    if name.endswith("[x]"):
        return tuple(element for element in known.values() if element.choice == name)
    return (known[name],) if name in known else ()


def _says_something(node: Json) -> bool:
    return node.keys() - {"name", "id", "slice"} != set()


def _cardinality(node: Json, element: Json, places: tuple[Element, ...], sliced: bool) -> None:
    least, most = element.get("min"), element.get("max")
    if isinstance(least, int) and least > (0 if sliced else int(bool(places) and places[0].required)):
        node["min"] = least
    if isinstance(most, str) and most.isdecimal() and len(most) < 10:
        many = bool(places) and places[0].many
        if most != "1" or many or sliced:
            node["max"] = int(most)


def _types(element: Json) -> Json:
    """The types of an element by their codes, with what is asked of the value and of where a reference leads."""
    found: Json = {}
    for row in element.get("type") or ():
        code = row.get("code") if isinstance(row, dict) else None
        if not isinstance(code, str):
            continue
        if code.startswith(SYSTEM_TYPE):
            code = _system_type(row, code)
        modes = [m for m in row.get("aggregation") or () if m in MODES]
        facts = found.setdefault(code, {"profiles": [], "targets": [], "modes": modes})
        facts["modes"] = sorted({*facts["modes"], *modes}) if modes and facts["modes"] else []
        facts["profiles"] += [p for p in row.get("profile") or () if isinstance(p, str)]
        facts["targets"] += [p for p in row.get("targetProfile") or () if isinstance(p, str)]
    return found


def _system_type(row: Json, code: str) -> str:
    for extension in row.get("extension") or ():
        if extension.get("url") == FHIR_TYPE:
            told = extension.get("valueUrl") or extension.get("valueUri")
            return told if isinstance(told, str) else "string"
    return code.removeprefix(SYSTEM_TYPE).lower()


def _keep_types(node: Json, types: Json, places: tuple[Element, ...]) -> None:
    """`types` where the base type allows more, or asks for less of the value."""
    if not types or not places:
        return
    base = {place.type for place in places}
    if all(map(tables.is_part, base)):
        return
    fewer = any(types.keys().isdisjoint(tables.allowed_as(one, node["name"])) for one in base) and not (
        base <= _ANY and types.keys() & _ANY
    )
    kept, asked = {}, fewer
    for code, facts in types.items():
        place = next((p for p in places if p.type == code), None)
        profiles = [p for p in dict.fromkeys(facts["profiles"]) if not _is_base(p, code) and not _is_shape(p, place)]
        targets = sorted(dict.fromkeys(facts["targets"])) if code == "Reference" else []
        if _same_targets(targets, place):
            targets = []
        modes = facts["modes"] if code == "Reference" else []
        kept[code] = {k: v for k, v in (("profiles", profiles), ("targets", targets), ("modes", modes)) if v}
        asked = asked or bool(kept[code])
    if asked:
        node["types"] = kept
    if fewer:
        node["fewer"] = True


def _is_base(profile: str, code: str) -> bool:
    return profile.partition("|")[0] == CORE + code


def _is_shape(profile: str, place: Element | None) -> bool:
    return place is not None and place.shape != "" and profile.partition("|")[0] == CORE + place.shape


def _same_targets(targets: list[str], place: Element | None) -> bool:
    if place is None or not targets:
        return not targets
    plain = {t.partition("|")[0].removeprefix(CORE) for t in targets}
    return bool(plain & _ANY) or (bool(place.targets) and plain >= place.targets)


def _bindings(binding: Any, places: tuple[Element, ...]) -> list[list[str]]:
    if not isinstance(binding, dict):
        return []
    found = []
    strength, value_set = binding.get("strength"), binding.get("valueSet")
    if strength in BOUND and isinstance(value_set, str) and not _already(strength, value_set, places):
        found.append([strength, value_set])
    for extension in binding.get("extension") or ():
        if isinstance(extension, dict) and extension.get("url") == MAX_VALUE_SET:
            largest = extension.get("valueCanonical") or extension.get("valueUri")
            if isinstance(largest, str) and not _already("required", largest, places):
                found.append(["required" if strength in BOUND else "largest", largest])
        elif isinstance(extension, dict) and extension.get("url") == ADDITIONAL and (row := _additional(extension)):
            found.append(row)
    return found


def _additional(extension: Json) -> list[str]:
    """One more binding (strength, value set); none where it holds in some uses alone, or is no more than advice."""
    said = {row.get("url"): row for row in _dicts(extension.get("extension"))}
    purpose, value_set = (said.get(name, {}) for name in ("purpose", "valueSet"))
    strength = {"required": "required", "maximum": "required", "extensible": "extensible"}.get(
        str(purpose.get("valueCode")), ""
    )
    found = value_set.get("valueCanonical")
    return [strength, found] if strength and isinstance(found, str) and "usage" not in said else []


def _already(strength: str, value_set: str, places: tuple[Element, ...]) -> bool:
    """Whether the standard itself requires this set here, so that it is looked at already."""
    name = value_set.partition("|")[0].removeprefix("http://hl7.org/fhir/ValueSet/")
    return strength == "required" and any(place.codes == name for place in places)


def _constraints(rows: Any) -> list[list[str]]:
    found = []
    for row in rows if isinstance(rows, list) else ():
        if not isinstance(row, dict):
            continue
        key, expression = row.get("key"), row.get("expression")
        if not isinstance(key, str) or not isinstance(expression, str) or _of_the_standard(key, row):
            continue
        expression = MEANT.get(expression, expression)
        words = row.get("human")
        severity = "warning" if row.get("severity") == "warning" else "error"
        found.append([key, severity, expression, words if isinstance(words, str) else ""])
    return found


def _of_the_standard(key: str, row: Json) -> bool:
    known = _base_constraints().get(key)
    if known is None:
        return False
    source = row.get("source")
    name = source.partition("|")[0].removeprefix(CORE) if isinstance(source, str) else ""
    return row.get("expression") in known or tables.knows(name)


@cache
def _base_constraints() -> Mapping[str, frozenset[str]]:
    """Expressions of the standard's own constraints by their keys; they are looked at without any profile."""
    found: dict[str, set[str]] = {}
    for rows in tables.invariants().values():
        for key, row in rows.items():
            found.setdefault(key, set()).add(row["expression"])
    return {key: frozenset(expressions) for key, expressions in found.items()}


def _slicing(slicing: Any) -> Json | None:
    if not isinstance(slicing, dict):
        return None
    by = [
        [row["type"], row["path"]]
        for row in _dicts(slicing.get("discriminator"))
        if isinstance(row.get("type"), str) and isinstance(row.get("path"), str)
    ]
    rules = slicing.get("rules")
    return {
        "by": by,
        "rules": rules if rules in ("open", "closed", "openAtEnd") else "open",
        "ordered": slicing.get("ordered") is True,
    }


def _without_saying(name: str) -> list[list[str]]:
    """How slices are told apart where nothing says it: those of a choice by type, extensions by their address."""
    if name.endswith("[x]"):
        return [["type", "$this"]]
    return [["value", "url"]] if name in ("extension", "modifierExtension") else []


def _dicts(rows: Any) -> Iterable[Json]:
    return (row for row in rows if isinstance(row, dict)) if isinstance(rows, list) else ()
