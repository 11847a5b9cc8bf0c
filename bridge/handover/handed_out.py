"""The last step: the files of a record made, packed and put in their place, with what is told of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from bridge.handover.contents import Around, contents
from bridge.handover.look import to_look_at
from bridge.handover.packed import PURPOSES, Seal, deliver
from bridge.handover.record import ClientRecord, OneClient
from bridge.issues import Issue, Severity, issue
from bridge.issues import Made as File
from bridge.parcel import About, SigningKey, spoken
from bridge.pipeline import Converter
from bridge.practice import Staff

FILES = "files in the hand-over"
"""How a report counts them."""


@dataclass(slots=True)
class HandedOut:
    issues: list[Issue] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=lambda: {FILES: 0})
    """What was handed over: no file where nothing was."""
    files: list[File] = field(default_factory=list)


def hand_out(
    record: ClientRecord,
    client: OneClient,
    converter: Converter,
    sources: Sequence[Path],
    target: Path,
    made: str,
    key: SigningKey | None,
    seal: Seal,
    to: str,
    by: Staff | None = None,
    *,
    replace: bool = False,
) -> HandedOut:
    """Writes the hand-over at `target`. With an error among its issues nothing is written.

    `made`: the day. `to`: for whom, as the manifest says it. `by`: who hands over. Raises BridgeError where nothing can
    be written.
    """
    out = HandedOut()
    hand = f"{by.full_names()[0]}, {by.role}" if by else ""
    around = Around(made, spoken(key.fingerprint) if key else "", seal.kind, target.name if seal.kind else "", hand)
    whole = contents(record, client, converter, sources, around)
    out.issues += whole.issues
    if record.reader == "client":
        out.issues += to_look_at(record, converter.maps.of_the_trade)
    if any(i.severity >= Severity.error for i in out.issues):
        out.issues.append(issue("D181", "Nothing was handed over: see why beside this.", cause="D181"))
        return out
    about = About(
        made,
        converter.practice.clinic.name,
        record.stem,
        PURPOSES[record.reader],
        practitioner=hand,
        to=to or ("the client" if record.reader == "client" else ""),
        counts={name.replace(" ", "_"): number for name, number in whole.counts.items()},
    )
    state, paths = deliver(whole.pieces, about, key, seal, target, replace=replace)
    if state == "left":
        told = f"{target.name} is there already and says something else."
        out.issues.append(issue("D175", told, cause="D175"))
        out.files = [File(str(path), state, record.stem) for path in paths]
        return out
    out.counts = {
        "letters": sum(p.name.startswith("letters/") for p in whole.pieces),
        "pictures": sum(p.name.startswith("images/") for p in whole.pieces),
        "older versions": whole.counts["superseded"],
        "files from an earlier clinic": whole.counts["kept"],
        FILES: len(whole.pieces),
    }
    out.files = [File(str(path), state, record.stem) for path in paths]
    return out
