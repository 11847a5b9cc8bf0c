"""Holds resources against profiles: one walk along the profile, beside the data.

Sources: https://hl7.org/fhir/R4/profiling.html, elementdefinition.html, structuredefinition.html.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from bridge.check.look import text
from bridge.check.profiles import bounds, slices
from bridge.check.profiles.bindings import check_bindings
from bridge.check.profiles.context import Context, Target, entered, in_bundle, target
from bridge.check.profiles.marks import Mark, codes_in, marked_otherwise, marks
from bridge.check.profiles.part import Item, Part, items
from bridge.check.profiles.plans import Plans
from bridge.check.profiles.same import fits, fixed
from bridge.check.profiles.words import named
from bridge.enough import EnoughError
from bridge.fhir import tables
from bridge.fhir.path import Env, invariant
from bridge.issues import Issue, Severity, Where, issue
from bridge.shapes import Json
from bridge.terminology.members import Terminology

MAX_STEPS = 1_000_000, 300
"""Elements that are held against profiles in one run, and values that are tried against a slice; and how many more for
each resource."""
MAX_WORK = 1_000_000, 1_000
"""Items that all constraints of one run look at, and how many more for each resource; what is left is not decided."""
MAX_LED = 20
"""Values within one another, or one leading to the next, that are tried against profiles at once."""


class Held(NamedTuple):
    """One element that was held against a part of a profile; for the explanation."""

    path: str
    profile: str
    element: str
    slice: str


class RefusedError(Exception):
    """Thrown in a try-out at the first fault: it does not conform."""


class _TryOut(list[Issue]):
    def append(self, found: Issue) -> None:
        if found.severity >= Severity.error:
            raise RefusedError
        super().append(found)

    def extend(self, found: Iterable[Issue]) -> None:
        for one in found:
            self.append(one)


class Run:
    """One run over one piece of data; what was found about a resource is kept for the next question about it."""

    def __init__(
        self, plans: Plans, terminology: Terminology, explain: Callable[[Held], None] | None = None, must: bool = False
    ) -> None:
        self.plans = plans
        self.terminology = terminology
        self.explain = explain
        self._explains = explain is not None
        self.must = must
        self._known: dict[tuple[str, str], list[Issue] | None] = {}
        self._conforms: dict[tuple[str, str], bool] = {}
        self._bundles: dict[int, Context] = {}
        self._steps = MAX_STEPS[0]
        self._led = 0
        self.left = [MAX_WORK[0]]

    def tell(self, out: list[Issue], rule: str, path: str, message: str, cause: str) -> None:
        out.append(issue(rule, message, Where(path=path), cause=f"{rule}:{cause}"))

    def spend(self, count: int = 1) -> None:
        """Raises EnoughError once too much was held against profiles."""
        self._steps -= count
        if self._steps < 0:
            raise EnoughError(f"{MAX_STEPS[0]:,} elements held against profiles")

    def another(self) -> None:
        """To be called for each resource: the larger the data, the more may be done."""
        self._steps += MAX_STEPS[1]
        self.left[0] += MAX_WORK[1]

    def hold(self, url: str, item: Item, context: Context) -> list[Issue]:
        """Everything in which a value departs from a profile; nothing while that is being found out already."""
        key = item[2], url
        if key not in self._known:
            self._known[key] = None
            root = self.plans.root(url)
            out: list[Issue] = []
            if root is not None:
                self._root(root, item, context, out)
                for imposed in self.plans.imposed(url):
                    out += self._imposed(root, imposed, item, context)
            self._known[key] = out
        return self._known[key] or []

    def _imposed(self, root: Part, url: str, item: Item, context: Context) -> list[Issue]:
        if self.plans.root(url) is not None:
            return self.hold(url, item, context)
        out: list[Issue] = []
        self._not_at_hand(root, [url], item[2], out)
        return out

    def conforms(self, url: str, item: Item, context: Context) -> bool:
        """Whether a value conforms to a profile; what cannot be decided does not count against it."""
        key = item[2], url
        if key not in self._conforms:
            if self._led >= MAX_LED:
                return True
            known = self._known.get(key)
            if known is not None:
                self._conforms[key] = not any(i.severity >= Severity.error for i in known)
            else:
                self._conforms[key] = True
                root = self.plans.root(url)
                plain_no = root is None or self._marked_otherwise(root, item[0])
                found = None if root is None or plain_no else self._tried(root, item, context)
                imposed = found is not None and self.plans.imposed(url)
                if imposed and not all(self.plans.root(u) is None or self.conforms(u, item, context) for u in imposed):
                    found = None
                self._conforms[key] = found is not None
                if found is not None and not self._explains:
                    self._known[key] = found
        return self._conforms[key]

    def _marked_otherwise(self, root: Part, value: Any) -> bool:
        """Whether a resource lacks a code without which it cannot conform."""
        wanted = self.marks_of(root)
        return bool(wanted) and marked_otherwise(
            wanted, {mark.key: codes_in(value, mark.key) for mark in wanted}, self.may_have
        )

    def marks_of(self, root: Part) -> tuple[Mark, ...]:
        """The codes that a resource must have to conform to the profile."""
        if root.marks is None:
            root.marks = marks(root)
        found: tuple[Mark, ...] = root.marks
        return found

    def may_have(self, value_set: str, system: str, code: str) -> bool:
        """Whether a value set may have a code: only what is certain is a no."""
        return self.terminology.member(value_set, system, code).verdict != "out"

    def fits(self, part: Part, item: Item, context: Context) -> bool:
        """Whether a value has all that a part asks for."""
        return self._tried(part, item, context) is not None

    def _tried(self, part: Part, item: Item, context: Context) -> list[Issue] | None:
        """What is told of a value that has all that a part asks for; None for one that has not."""
        explain, self.explain = self.explain, None
        out = _TryOut()
        self._led += 1
        self.spend()
        try:
            self._root(part, item, context, out)
        except RefusedError:
            return None
        finally:
            self._led -= 1
            self.explain = explain
        return list(out)

    def _root(self, part: Part, item: Item, context: Context, out: list[Issue]) -> None:
        if item[1] == "Bundle":
            context = self._in_bundle(item, context)
        self.element(part, item, context, out)

    def _in_bundle(self, item: Item, context: Context) -> Context:
        key = id(item[0])
        if key not in self._bundles:
            self._bundles[key] = in_bundle(item[0], item[2], context)
        return self._bundles[key]

    def element(self, part: Part, item: Item, context: Context, out: list[Issue]) -> None:
        """Holds one value against one part, and against what stands under it."""
        self.spend()
        value, _, path, _ = item
        if self.explain:
            self.explain(Held(path, part.profile, part.id, part.slice))
        if part.types is not None and not self._type(part, item, context, out):
            return
        if part.fixed is not None and not fixed(part.fixed[1], value):
            self.tell(out, "P103", path, f"{named(part)} has one fixed value, and this is another.", part.id)
        if part.pattern is not None and not fits(part.pattern[1], value):
            self.tell(out, "P104", path, f"{named(part)} does not have what its pattern asks for.", part.id)
        bounds.check(self, part, item, out)
        if part.binding:
            check_bindings(self, part, item, out)
        for constraint in part.constraints:
            self._constraint(part, constraint, item, context, out)
        if part.like and (other := _found(part, part.like)) is not None:
            for constraint in other.constraints:
                self._constraint(other, constraint, item, context, out)
            self._parts(other, item, context, out)
        self._parts(part, item, context, out)

    def _parts(self, part: Part, item: Item, context: Context, out: list[Issue]) -> None:
        parts = part.parts if self.explain or self.must else part.asking
        if not parts and not part.counted:
            return
        value, type, path, beside = item
        if not isinstance(value, dict):
            value, path = beside if isinstance(beside, dict) else {}, _beside(path)
        if parts is part.asking:
            parts = part.to_look_at(value, type)
            if part.counted:
                parts += part.miscounted(value, type)
        for inner in parts:
            self.part(inner, value, type, path, context, out)

    def part(self, part: Part, owner: Json, type: str, path: str, context: Context, out: list[Issue]) -> None:
        """Holds all values of one element against its part: how many there are, each of them, and its slices."""
        places = part.places(type)
        met = items(owner, places, path)
        count = len(met)
        if count < part.min and places:
            told = f"{named(part)} must be here" + (f" at least {part.min} times." if part.min > 1 else ".")
            self.tell(out, "P101", path, told, part.id)
        elif part.max is not None and count > part.max:
            told = f"may be here {part.max} times at the most." if part.max else "must not be here."
            self.tell(out, "P102", met[part.max][2], f"{named(part)} {told}", part.id)
        if self.must and part.must and not count and places and not part.min:
            self.tell(out, "P140", path, f"{named(part)} is marked must-support, and there is none here.", part.id)
        if not count and not part.wanting and not self.must:
            return
        holds_resources = any(place[1] == tables.RESOURCE for place in places)
        around = [(one, self._around(part, one, context) if holds_resources else context) for one in met]
        for one, inside in around:
            self.element(part, one, inside, out)
        if part.slices and (part.dividing or self.explain or self.must):
            slices.check(self, part, around, path, out)

    def _around(self, part: Part, item: Item, context: Context) -> Context:
        if not isinstance(item[0], dict):
            return context
        inside = entered(item[0], item[2], context, part.name == "contained")
        return self._in_bundle(item, inside) if item[1] == "Bundle" else inside

    def _type(self, part: Part, item: Item, context: Context, out: list[Issue]) -> bool:
        """Whether the value is of a type that is allowed here, so that it can be looked at further."""
        assert part.types is not None
        code = next((c for c in tables.allowed_as(item[1], part.name) if c in part.types), None)
        if code is None:
            allowed = ", ".join(sorted(part.types))[:60]
            self.tell(out, "P105", item[2], f"{named(part)} must be of type {allowed} here.", part.id)
            return False
        facts = part.types[code]
        if profiles := facts.get("profiles"):
            self._profiles(part, profiles, item, context, out)
        if item[1] == "Reference" and ("targets" in facts or "modes" in facts):
            found = target(item[0], context)
            if modes := facts.get("modes"):
                self._modes(part, modes, item, found, context, out)
            if targets := facts.get("targets"):
                self._targets(part, targets, found, item[2], out)
        return True

    def _modes(
        self, part: Part, modes: list[str], item: Item, found: Target, context: Context, out: list[Issue]
    ) -> None:
        """How a reference leads there: what it means is contained, stands in the same Bundle, or elsewhere."""
        literal = text(item[0], "reference")
        if not literal:
            return
        bundled = context.answers is not None and found.resource is not None
        ways = {"contained"} if literal.startswith("#") else {"bundled", "referenced"} if bundled else {"referenced"}
        if ways.isdisjoint(modes):
            told = f"{named(part)} must be a reference to what is {' or '.join(modes)}."
            self.tell(out, "P115", item[2], told, part.id)

    def _profiles(self, part: Part, urls: list[str], item: Item, context: Context, out: list[Issue]) -> None:
        """The value has to conform to one of the profiles at least."""
        at_hand = [url for url in urls if self.plans.is_type(url) or self.plans.about(url) is not None]
        fitting = [url for url in at_hand if tables_fit(self.plans.type_of(url), item[1])]
        if len(urls) == 1 and fitting and not isinstance(out, _TryOut):
            out.extend(self.hold(fitting[0], item, context))
        elif any(self.plans.is_type(url) or self.conforms(url, item, context) for url in fitting):
            if self._explains:
                for url in fitting:
                    if self.conforms(url, item, context):
                        self.hold(url, item, context)
        elif len(at_hand) < len(urls):
            self._not_at_hand(part, [u for u in urls if u not in at_hand], item[2], out)
        else:
            told = f"{named(part)} conforms to none of the profiles that are allowed here: {self._names(urls)}."
            self.tell(out, "P106", item[2], told, part.id)

    def _targets(self, part: Part, urls: list[str], found: Target, path: str, out: list[Issue]) -> None:
        """What the reference leads to has to be of one of the types and profiles."""
        if not found.type:
            if any(not self.plans.is_type(url) for url in urls):
                told = f"It could not be decided whether {named(part)} leads to {self._names(urls)}: it is not here."
                self.tell(out, "P143", path, told, part.id)
            return
        known = [url for url in urls if self.plans.type_of(url)]
        fitting = [url for url in known if tables_fit(self.plans.type_of(url), found.type)]
        if not fitting and len(known) == len(urls):
            told = f"{named(part)} leads to {found.type}; allowed here: {self._names(urls)}."
            self.tell(out, "P107", path, told, part.id)
        elif not fitting:
            self._not_at_hand(part, [u for u in urls if u not in known], path, out)
        elif any(self.plans.is_type(url) for url in fitting):
            return
        elif found.resource is None:
            told = f"It could not be decided whether {named(part)} leads to {self._names(fitting)}: it is not here."
            self.tell(out, "P143", path, told, part.id)
        else:
            self._leads(part, fitting, found, path, out)

    def _leads(self, part: Part, urls: list[str], found: Target, path: str, out: list[Issue]) -> None:
        item: Item = (found.resource, found.type, found.path, None)
        if any(self.conforms(url, item, found.context) for url in urls):
            if self._led >= MAX_LED:
                far = f"It could not be decided whether {named(part)} leads to {self._names(urls)}: it is too far away."
                self.tell(out, "P143", path, far, part.id)
            return
        told = f"{named(part)} leads to a {found.type} that does not conform to {self._names(urls)}."
        self.tell(out, "P108", path, told, part.id)
        if len(urls) == 1:
            out.extend(self.hold(urls[0], item, found.context))

    def _not_at_hand(self, part: Part, urls: Iterable[str], path: str, out: list[Issue]) -> None:
        for url in urls:
            told = f"{named(part)} should conform to {url[:120]}, which is not at hand; this was not decided."
            self.tell(out, "P143", path, told, url)

    def _names(self, urls: Iterable[str]) -> str:
        names = [str((self.plans.about(u) or {}).get("name") or self.plans.type_of(u) or u)[:60] for u in urls]
        return ", ".join(dict.fromkeys(names[:8]))

    def _constraint(self, part: Part, constraint: list[str], item: Item, context: Context, out: list[Issue]) -> None:
        key, severity, expression, words = constraint
        value, type, path, beside = item
        given = value if value is not None else beside

        def resolve(reference: str, resource: Any) -> Json | None:
            return target({"reference": reference}, context).resource

        holds = invariant(expression)(given, type, Env(context.resource, context.owner, resolve, left=self.left))
        if holds is None:
            told = f"Constraint {key[:60]} of {part.profile} could not be evaluated; it was not decided."
            self.tell(out, "P132", path, told, f"{part.profile}:{key}")
        elif not holds:
            rule = "P131" if severity == "warning" else "P130"
            self.tell(out, rule, path, f"{key[:60]} of {part.profile}: {words[:300]}", f"{part.profile}:{key}")


def tables_fit(wanted: str, type: str) -> bool:
    """Whether a value of a type is of the type that is wanted, or of one that is a kind of it."""
    return wanted in tables.lineage(type)


def _found(part: Part, id: str) -> Part | None:
    """The part of the same profile that another one repeats."""
    top = part
    while top.above is not None:
        top = top.above
    at: Part | None = top
    for step in id.split(".")[1:]:
        name, _, sliced = step.partition(":")
        at = at.part(name.removesuffix("[x]")) if at else None
        if at and sliced:
            at = next((s for s in at.slices if s.slice == sliced), None)
    return at if at is not part else None


def _beside(path: str) -> str:
    head, dot, last = path.rpartition(".")
    return f"{head}{dot}_{last}"
