"""Other ways in which authors write the same definition; nothing that is found may change with them."""

from __future__ import annotations

import copy
from collections.abc import Callable

from tests.check.profiles.corpus import HOME, Json
from tests.oracles.profile_trees import EXTENSIONS


def without_ids(definition: Json) -> None:
    for element in rows(definition):
        element.pop("id", None)


def without_root(definition: Json) -> None:
    if rows(definition) and set(rows(definition)[0]) <= {"id", "path"}:
        del definition["differential"]["element"][0]


def without_slicing_of_extensions(definition: Json) -> None:
    """They are told apart by their addresses, which goes without saying (R4 profiling.html#extensions)."""
    for element in rows(definition):
        if element["path"].rpartition(".")[2] in EXTENSIONS and element.get("slicing", {}).get("rules") == "open":
            del element["slicing"]


def with_versions(definition: Json) -> None:
    for element in rows(definition):
        for row in element.get("type", ()):
            for key in ("profile", "targetProfile"):
                if key in row:
                    row[key] = [f"{url}|1.0.0" if url.startswith(HOME) else url for url in row[key]]


def with_short_of_everything(definition: Json) -> None:
    """Texts and marks that change nothing."""
    for element in rows(definition):
        element.update(
            short="x", definition="x", comment="x", mustSupport=True, mapping=[{"identity": "x", "map": "y"}]
        )


WAYS: dict[str, Callable[[Json], None]] = {
    "without ids": without_ids,
    "without the root": without_root,
    "without the slicing of extensions": without_slicing_of_extensions,
    "with versions": with_versions,
    "with texts": with_short_of_everything,
}


def rows(definition: Json) -> list[Json]:
    found: list[Json] = definition.get("differential", {}).get("element", [])
    return found


def rewritten(definitions: list[Json], way: str) -> list[Json]:
    made = copy.deepcopy(definitions)
    for definition in made:
        WAYS[way](definition)
    return made


def needs_ids(definition: Json) -> bool:
    """Whether an element is of a slice that nothing but its id tells."""
    slices = {element["id"] for element in rows(definition) if "sliceName" in element}
    return any(
        ":" in step and ".".join(element["id"].split(".")[: number + 1]) not in slices
        for element in rows(definition)
        for number, step in enumerate(element["id"].split("."))
    )
