"""Random resources that are right by R4: a generator over the published StructureDefinitions, for every kind.

It respects cardinalities, choices, required bindings, the types that references may lead to, the forms of simple values
(rare ones too), `_x` siblings, extensions and contained resources; `random_fixes.py` mends what the published
constraints would forbid. Nothing of the project is imported.
"""

from __future__ import annotations

import json
from random import Random
from typing import Any

from tests.oracles import random_values
from tests.oracles.seed_definitions import Fact, Json, codes, elements, inner, primitives, resources

DEEPEST = 5
ENTRY = ("Basic", "Patient", "Observation", "Organization")


def resource(choose: Random, type: str, fill: float = 0.4) -> Json:
    """A resource of a type; `fill` is the likelihood of each optional element near the top."""
    return Maker(choose, fill).resource(type)


class Maker:
    def __init__(self, choose: Random, fill: float) -> None:
        self.choose = choose
        self.fill = fill
        self.contained: list[Json] = []

    def likely(self, part: float) -> bool:
        return self.choose.random() < part

    def resource(self, type: str) -> Json:
        if "contained" in elements(type) and self.likely(self.fill / 2):
            kinds = self.choose.sample(ENTRY, self.choose.randint(1, 2))
            self.contained = [self._contained(kind, f"c{number}") for number, kind in enumerate(kinds)]
        made = {"resourceType": type, **self.object(type, 0)}
        if self.contained:
            written = json.dumps(made, default=str)
            lost = [c["id"] for c in self.contained if f'"#{c["id"]}"' not in written]
            more = [{"url": "https://example.org/lost", "valueReference": {"reference": f"#{id}"}} for id in lost]
            if more:
                made["extension"] = [*made.get("extension", ()), *more]
            made["contained"] = self.contained
        return made

    def _contained(self, type: str, id: str) -> Json:
        made = Maker(self.choose, self.fill / 3).object(type, 2)
        made = {k: v for k, v in made.items() if k not in ("meta", "contained", "_id")}
        return {"resourceType": type, **made, "id": id}

    def object(self, owner: str, depth: int) -> Json:
        """An object of a type, never empty."""
        from tests.oracles.random_fixes import mended

        made: Json = {}
        for fact in elements(owner).values():
            if fact.name in ("contained", "implicitRules", "modifierExtension") or fact.max == "0":
                continue
            if fact.simple and depth > DEEPEST + 2 and not fact.min:
                continue
            if fact.min or self.likely(self._chance(fact, depth)):
                self._property(made, fact, depth)
        made = mended(made, owner, self)
        if not set(made) - {"id"} and depth:  # nothing, or nothing but an id (ele-1)
            made |= self._least(owner)
        return made

    def _chance(self, fact: Fact, depth: int) -> float:
        if fact.name in ("extension", "id", "meta", "language", "text"):
            return self.fill / (4 if depth == 0 or fact.name == "id" else 12)
        if depth >= DEEPEST and not set(fact.types) <= primitives():
            return 0
        return self.fill / (1 + depth)

    def _least(self, owner: str) -> Json:
        """An extension, so that the object is not empty."""
        if owner == "Extension":
            return {"url": "https://example.org/x", "valueString": "a"}
        return {"extension": [{"url": "https://example.org/least", "valueString": "a"}]}

    def _property(self, made: Json, fact: Fact, depth: int) -> None:
        key, type = self.choose.choice(list(fact.keys.items()))
        if depth >= DEEPEST and fact.choice:
            simple = [(k, t) for k, t in fact.keys.items() if t in primitives()]
            key, type = self.choose.choice(simple or [(key, type)])
        if fact.max == "1":
            made[key] = self.value(fact, type, depth)
            if fact.min and type in primitives():
                return
            if (
                type in primitives()
                and not fact.attribute
                and type != "xhtml"
                and not _resource_id(fact)
                and self.likely(self.fill / 15)
            ):
                made[f"_{key}"] = self._sibling(depth)
                if self.likely(0.3):
                    made[f"_{key}"].pop("id", None)
                    made[f"_{key}"].setdefault("extension", [{"url": "https://example.org/x", "valueBoolean": True}])
                    del made[key]
            return
        count = max(fact.min, self.choose.choice((1, 1, 1, 2, 3)) if depth < 3 else 1)
        made[key] = [self.value(fact, type, depth) for _ in range(count)]
        if type in primitives() and self.likely(self.fill / 10):
            beside: list[Any] = [self._sibling(depth) if self.likely(0.5) else None for _ in made[key]]
            if any(beside):
                made[f"_{key}"] = beside
                if len(beside) > 1 and beside[0] and "extension" in beside[0]:
                    made[key] = [None, *made[key][1:]]

    def _sibling(self, depth: int) -> Json:
        more = {"url": "https://example.org/why", "valueCode": "unknown"}
        id = f"p{self.choose.getrandbits(40)}"
        return self.choose.choice(({"id": id}, {"extension": [more]}, {"id": id, "extension": [more, more]}))

    def value(self, fact: Fact, type: str, depth: int) -> Any:
        if type in primitives():
            return self.simple(fact, type)
        if type == "Reference":
            return self.reference(fact, depth)
        if type in ("CodeableConcept", "Coding") and fact.codes:
            return self._bound(fact, type)
        if type == "Resource":
            return self._contained(self.choose.choice(ENTRY), random_values.id(self.choose))
        where = inner(fact, type)
        made = self.object(where, depth + 1)
        if fact.simple:
            made.pop("comparator", None)
            made.pop("_comparator", None)
            made = made or {"value": 1}
        return made

    def simple(self, fact: Fact, type: str) -> Any:
        if type == "xhtml":
            return random_values.narrative(self.choose)
        if fact.path == "Expression.language":
            return self.choose.choice(("text/cql", "text/fhirpath"))
        if fact.name == "language" and type == "code":
            return self.choose.choice(random_values.LANGUAGES)
        if type == "code" and fact.codes:
            return self.choose.choice(self._members(fact))[1]
        if fact.path in ("Extension.url",) or fact.name in ("system", "url", "instantiatesUri"):
            return random_values.address(self.choose) if type == "uri" else random_values.SIMPLE[type](self.choose)
        if fact.attribute:
            return f"e{self.choose.getrandbits(40)}"
        return random_values.SIMPLE[type](self.choose)

    def _members(self, fact: Fact) -> Any:
        return codes().get(fact.codes) or [("http://unitsofmeasure.org", c) for c in random_values.OPEN[fact.codes]]

    def _bound(self, fact: Fact, type: str) -> Json:
        system, code = self.choose.choice(self._members(fact))
        if fact.codes.startswith("http://loinc.org"):
            system = "http://loinc.org"
        coding = {"system": system, "code": code}
        other = {"system": "https://example.org/own", "code": "own", "display": "own word"}
        if type == "Coding":
            return coding
        return {
            "coding": [other, coding] if self.likely(0.2) else [coding],
            **({"text": "word"} if self.likely(0.3) else {}),
        }

    def reference(self, fact: Fact, depth: int) -> Json:
        allowed = sorted(resources() if "Resource" in fact.targets or not fact.targets else fact.targets)
        type = self.choose.choice(allowed)
        here = [c for c in self.contained if c["resourceType"] in allowed]
        if here and self.likely(0.5):
            chosen = self.choose.choice(here)
            return {"reference": f"#{chosen['id']}"}
        id = random_values.id(self.choose)
        plain: tuple[Json, ...] = (
            {"reference": f"{type}/{id}"},
            {"reference": f"{type}/{id}/_history/2"},
            {"reference": f"https://example.org/fhir/{type}/{id}"},
            {"reference": f"http://example.org:8080/a/b/{type}/{id}/_history/v1", "type": type},
            {"reference": random_values.uuid(self.choose)},
            {"reference": f"{type}/{id}", "type": type, "display": "shown"},
            {"display": "shown only"},
            {"type": type, "identifier": {"system": "https://example.org/ids", "value": "7"}},
            {"identifier": {"value": "7"}, "display": "by number"},
        )
        return self.choose.choice(plain)


def _resource_id(fact: Fact) -> bool:
    """The ids of resources: the XSD lets them be extended, the JSON schema does not."""
    return fact.name == "id" and fact.types == ("id",)
