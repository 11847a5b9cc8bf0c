"""Visits without who they are about.

Two walks over them: the first learns who is over 89 and what names the visits of a client hold together.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from bridge.coding import TermMaps
from bridge.deidentified.known import Known, Shared, trade_words
from bridge.deidentified.told import Deidentified, told
from bridge.deidentify import (
    Deidentifier,
    Keyed,
    Redaction,
    UnfitError,
    Wishes,
    client_key,
    over_89,
    people,
    small_cells,
)
from bridge.practice import Practice
from bridge.visit import Visit


def deidentified(
    visits: Sequence[Visit], key: bytes, wishes: Wishes, maps: TermMaps, practice: Practice | None = None
) -> Deidentified:
    """The visits without who they are about, in the order of their pseudonyms.

    Of several records with one number and version the first met is taken; D247 tells of those that say something else.
    D242: rare combinations. D243: words that no table knows. D244 (error): a visit of which too little is left.
    """
    of_client: dict[str, list[Visit]] = defaultdict(list)
    for visit in visits:
        of_client[client_key(visit)].append(visit)
    old = over_89(visits)
    (others, places), everybody, trade = _of_practice(practice), people(visits), trade_words(maps)
    worker = Deidentifier(Keyed(key, wishes.purpose), wishes, Known(maps), Shared(maps))
    result = Deidentified(clients=len(of_client))
    unfit: dict[str, int] = defaultdict(int)
    found: dict[tuple[str, int], Visit] = {}
    twice = 0
    for client, theirs in of_client.items():
        redaction = Redaction(theirs, others, everybody, places, trade)
        for visit in theirs:
            try:
                made = worker.one(visit, client in old, redaction)
            except UnfitError as error:
                unfit[str(error)] += 1
                continue
            twice += found.setdefault((made.number, made.version), made) != made
    result.visits = [found[at] for at in sorted(found)]
    result.done = dict(sorted(worker.done.items()))
    result.cells = small_cells(result.visits, wishes.small)
    result.issues = [*told(result, wishes, len(old), unfit, twice)]
    return result


def _of_practice(practice: Practice | None) -> tuple[list[str], list[str]]:
    """Names of people, and of clinics and practices, in the practice's own settings and address book."""
    if practice is None:
        return [], []
    doctors = practice.doctors.rows
    staff = [name for one in practice.practitioners for name in one.full_names()]
    named = [*staff, *(row.doctor for row in doctors if row.doctor)]
    return named, [practice.clinic.name, *(row.practice for row in doctors if row.practice)]
