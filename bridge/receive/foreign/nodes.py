"""Data of any shape read as if it had the right one: what is not of the shape asked for is not there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from pydantic import TypeAdapter, ValidationError

from bridge.fhir.own import verified
from bridge.fhir.systems import short_name
from bridge.fhir.times import from_datetime
from bridge.receive.foreign.sources import Source
from bridge.receive.foreign.tables import Code
from bridge.shapes import Json
from bridge.visit.base import Coding, Term, Text

MOST = 200
"""Letters of a label."""


@dataclass(frozen=True, slots=True)
class Node:
    """A place in a resource."""

    source: Source
    path: str
    data: Any

    def at(self, key: str) -> Node:
        data = self.data.get(key) if isinstance(self.data, dict) else None
        return Node(self.source, f"{self.path}.{key}" if self.path else key, data)

    def each(self, key: str) -> list[Node]:
        inner = self.at(key)
        items = inner.data if isinstance(inner.data, list) else ()
        return [Node(self.source, f"{inner.path}[{n}]", item) for n, item in enumerate(items)]

    def text(self, key: str) -> str:
        """A text; empty where there is none."""
        data = self.data.get(key) if isinstance(self.data, dict) else None
        return data if isinstance(data, str) else ""

    def has(self, key: str) -> bool:
        return isinstance(self.data, dict) and key in self.data

    def any(self, *keys: str) -> bool:
        return any(self.has(key) for key in keys)

    def codes(self) -> Iterator[Code]:
        """System and code of each coding of a concept."""
        for coding in self.each("coding"):
            if coding.text("system") and coding.text("code"):
                yield coding.text("system"), coding.text("code")

    def code(self, system: str) -> str:
        """The one code of a system in a concept; empty where there is none, or more than one."""
        found = {code for uri, code in self.codes() if uri == system}
        return found.pop() if len(found) == 1 else ""

    def words(self) -> str:
        """What a concept is called."""
        shown = (coding.text("display") for coding in self.each("coding"))
        return self.text("text") or next((s for s in shown if s), "")


MOST_LISTED = 200
MOST_CODINGS = 50
"""Codings of a concept; one with more is not looked into and stays as it came."""


def small(node: Node) -> bool:
    """Whether no list of a resource is so long that looking through it for every visit would take too long."""
    inner = node.data.values() if isinstance(node.data, dict) else ()
    return all(len(value) <= MOST_LISTED for value in inner if isinstance(value, list))


def root(source: Source) -> Node:
    return Node(source, "", source.resource)


@dataclass(slots=True)
class Taking:
    """Leaves that a part of a visit holds word for word, and those whose meaning it holds in another way."""

    held: list[tuple[Source, str]] = field(default_factory=list)
    meant: list[tuple[Source, str]] = field(default_factory=list)

    def say(self, node: Node, key: str, most: int = MOST) -> str | None:
        """The text of a leaf, which the visit will hold; None where a visit cannot hold it as it is."""
        text = node.text(key)
        if not plain(text, most):
            return None
        self.held.append((node.source, f"{node.path}.{key}" if node.path else key))
        return text

    def when(self, node: Node, key: str) -> str | None:
        """A moment; where the visit spells it otherwise (10:15 for 10:15:00), the leaf is not held word for word."""
        text = Taking().say(node, key, 40)
        told = from_datetime(text) if text else None
        if told == text:
            self.say(node, key, 40)
        else:
            self.mean(node, key)
        return told

    def mean(self, node: Node, *keys: str) -> None:
        """Leaves of a node that the visit holds in its own way; without keys the node is a leaf itself."""
        self.meant += ((node.source, f"{node.path}.{key}" if node.path else key) for key in keys if node.has(key))
        if not keys and node.data is not None:
            self.meant.append((node.source, node.path))

    def term(self, concept: Node, assertion: str | None = None) -> Term | None:
        """The words of a concept with its codings as given; None where it has neither words nor a code we know."""
        codings, held = [], list[tuple[Source, str]]()
        for coding in concept.each("coding"):
            fields = {key: coding.text(key) for key in ("system", "code", "display", "version")}
            keys = [key for key, text in fields.items() if plain(text)]
            if not {"system", "code"} <= set(keys):
                continue
            made = valid(Coding, {key: fields[key] for key in keys})
            if isinstance(made, Coding):
                codings.append(made)
                held += ((coding.source, f"{coding.path}.{key}") for key in keys)
        words = concept.text("text").strip() or next((c.display for c in codings if c.display), "") or _known(codings)
        made_term = valid(Term, {"text": words, "codings": codings, "assertion": assertion})
        if not isinstance(made_term, Term):
            return None
        self.held += held
        if concept.text("text") == words:
            self.held.append((concept.source, f"{concept.path}.text"))
        return made_term

    def notes(self, node: Node) -> str | None:
        """The texts of `note`, as far as a visit can hold them."""
        told, held = [], list[tuple[Source, str]]()
        for note in node.each("note"):
            text = note.text("text")
            if plain(text, 20_000):
                told.append(text)
                held.append((note.source, f"{note.path}.text"))
        joined = "\n".join(told)
        if not joined or len(joined) > 20_000:
            return None
        self.held += held
        return joined

    def add(self, other: Taking) -> None:
        self.held += other.held
        self.meant += other.meant

    def keep(self, visit: str) -> None:
        """Notes with every source what of it this visit holds."""
        for source, path in self.held:
            source.claimed.add(path)
            source.visit = source.visit or visit
        for source, path in self.meant:
            source.meant.add(path)


def valid(model: type[Any], fields: Json) -> Any:
    """The model made of these fields; None where it refuses them."""
    try:
        return model.model_validate({k: v for k, v in fields.items() if v is not None and v != ()})
    except (ValidationError, ValueError, TypeError, ArithmeticError):
        return None


def decimal(value: Any) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    return Decimal(str(value))


def _known(codings: list[Coding]) -> str:
    """The published name of a code of ours, where nobody wrote any words."""
    for coding in codings:
        row = verified().get(f"{short_name(coding.system)}:{coding.code}")
        if row:
            return str(row["display"])
    return ""


def plain(text: Any, most: int = MOST) -> bool:
    """Whether a visit can hold this text as it is."""
    if not isinstance(text, str) or len(text) > most or text != text.strip():
        return False
    try:
        _TEXT.validate_python(text)
    except ValidationError:
        return False
    return True


_TEXT: TypeAdapter[str] = TypeAdapter(Text)
