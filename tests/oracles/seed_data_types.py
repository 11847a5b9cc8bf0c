"""Data types that break the published constraints on them, wherever one stands (class 9): seeds/data-types.yaml."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.oracles.seed_definitions import Json, plus, spell, table
from tests.oracles.seed_fault import Fault, Found, found


def faults(data: Json) -> Iterator[Fault]:
    for each in found(data):
        for keys, _ in each.items:
            path = spell(each.data, keys)
            for key, bad in table("data-types").get(each.spot.type, ()):
                yield each.fault(9, f"{each.spot.type} {key}", keys, bad, *below(path, bad))
        if each.simple and not each.fact.attribute and each.spot.type != "xhtml":
            yield from only_an_id(each)
    if "resourceType" in data and data["resourceType"] not in ("Bundle", "Parameters", "Binary"):
        yield from extensions(data)


def below(path: str, bad: Json) -> list[str]:
    """Parts of the value that an issue may name as well."""
    places = []
    for key, value in bad.items():
        places.append(f"{path}.{key}")
        if isinstance(value, list):
            places += [f"{path}.{key}[{n}]" for n in range(len(value))]
    return places


def only_an_id(each: Found) -> Iterator[Fault]:
    """ele-1: nothing but an id is no element."""
    name = f"_{each.keys[-1]}"
    if isinstance(each.spot.value, list) or name in each.holder:
        return

    def bare(node: Any) -> Any:
        return {key: value for key, value in node.items() if key != each.keys[-1]} | {name: {"id": "a"}}

    yield each.fault(9, "ele-1 of a simple value", each.parent, bare, each.parent_path, at=(*each.parent, name))


def extensions(data: Json) -> Iterator[Fault]:
    """The same on extensions that are added, so that every type has them."""
    for key, bad in table("data-types")["Extension"]:
        place = ("extension", 0)
        path = spell(data, place)
        yield Fault(
            9,
            f"Extension {key}",
            f"{data['resourceType']}.extension",
            frozenset((path, *below(path, bad))),
            lambda bad=bad: plus(extension=[bad])(data),
        )  # type: ignore[misc]
    for type in sorted(table("data-types").keys() - {"Extension", "ElementDefinition"}):
        for key, bad in table("data-types")[type]:
            name = f"value{type}"
            path = f"{data['resourceType']}.extension[0].{name}"
            new = [{"url": "https://example.org/a", name: bad}]
            yield Fault(
                9,
                f"{type} {key}",
                f"Extension.{name}",
                frozenset((path, *below(path, bad))),
                lambda new=new: plus(extension=new)(data),
            )  # type: ignore[misc]
