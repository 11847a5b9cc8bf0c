"""What the tests of sending share: a practice with endpoints, bundles of the demo's visits as they would be with other
facts, a sender whose waiting is only noted, and a server in this very process that answers what a test says."""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from bridge.build import build_collection, build_document, build_transaction
from bridge.deliver.server import Clock, Delivered
from bridge.fhir.written import as_document
from bridge.practice import Practice, load_practice
from bridge.receive import bundle_to_visits
from bridge.sending import Sender, target
from bridge.visit import Visit

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "mappings/demo"
BUNDLES = ROOT / "demo_bundles"


def practice_folder(folder: Path, *endpoints: Mapping[str, Any], **settings: Any) -> Path:
    """The demo's practice with these endpoints."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copy(DEMO / "doctors.csv", folder)
    said = yaml.safe_load((DEMO / "practice.yaml").read_text(encoding="utf-8"))
    said |= {"endpoints": [dict(one) for one in endpoints], **settings}
    (folder / "practice.yaml").write_text(yaml.safe_dump(said, allow_unicode=True), encoding="utf-8")
    return folder


def practice_of(folder: Path) -> Practice:
    practice, issues = load_practice(folder)
    assert practice is not None, issues
    return practice


@dataclass
class Waits:
    """Takes the place of waiting: the clock goes on by what was waited."""

    seconds: list[float] = field(default_factory=list)
    told: list[tuple[Delivered, float]] = field(default_factory=list)

    def wait(self, seconds: float) -> None:
        self.seconds.append(seconds)

    @property
    def clock(self) -> Clock:
        return Clock(
            now=lambda: datetime.now(UTC) + timedelta(seconds=sum(self.seconds)),
            wait=self.wait,
            waiting=lambda last, seconds: self.told.append((last, seconds)),
        )


def sender(folder: Path, name: str, waits: Waits | None = None, **options: Any) -> Sender:
    practice = practice_of(folder)
    return Sender(practice, folder, target(practice, name), clock=(waits or Waits()).clock, **options)


@cache
def visit_of(number: str) -> Visit:
    """A visit of the demo, whole."""
    data = json.loads((BUNDLES / f"transactions/{number}.transaction.bundle.json").read_bytes())
    (visit,), _ = bundle_to_visits(data)
    return visit


def made(number: str, form: str = "summary", changes: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The bundle of a visit of the demo in a form (`summary`, `referral`, `client`, `transaction`, `collection`), with
    some of its fields changed."""
    practice = practice_of(DEMO)
    visit = visit_of(number)
    if changes:
        visit = Visit.model_validate({**visit.model_dump(exclude_unset=True), **changes})
    given = visit, practice.namespace, practice.zone
    if form == "transaction":
        bundle = build_transaction(*given)
    elif form == "collection":
        bundle = build_collection(*given)
    else:
        bundle = build_document(*given, form)
    return json.loads(as_bytes(bundle), parse_float=Decimal)


def edited(bundle: dict[str, Any], edits: Mapping[str, Any]) -> dict[str, Any]:
    """The bundle with values put at paths such as `entry.3.resource.status`; a value of null takes away."""
    for path, value in edits.items():
        *way, last = path.split(".")
        place: Any = bundle
        for step in way:
            place = place[int(step)] if isinstance(place, list) else place[step]
        if isinstance(place, list):
            place.append(value) if last == "new" else place.__setitem__(int(last), value)
        elif value is None:
            del place[last]
        else:
            place[last] = value
    return bundle


def as_bytes(bundle: Mapping[str, Any]) -> bytes:
    return as_document(dict(bundle), "x.json", "json").content
