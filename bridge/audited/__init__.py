"""The corridor of the consistency audit: records of any layout and bundles of anybody, one `Entry` each.

records --read, code, check, rules--> Entry;  bundles --read, trade checks, rules--> Entry;  Entry --audit--> Audited
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from bridge.audit import EVIDENCE, Tally
from bridge.audit.bundle_rules import ways_of_both
from bridge.audit.shapes import Audited, Entry
from bridge.audited.bundles import Bundles
from bridge.audited.counted import in_order
from bridge.audited.known import WordsKnown
from bridge.audited.newest import counted_over
from bridge.audited.unnamed import Unnamed
from bridge.audited.visits import Visits
from bridge.errors import BridgeError
from bridge.issues import Issue
from bridge.layout import Layout
from bridge.pipeline import Converter
from bridge.read.find import find_sources, unread

__all__ = ["audit", "entries"]


def entries(
    sources: Sequence[Path],
    converter: Converter,
    layout: Layout | None = None,
    told: list[Issue] | None = None,
    tally: Tally | None = None,
    words: WordsKnown | None = None,
) -> Iterator[Entry]:
    """An Entry for each record and each bundle of files, folders and patterns, records first and one by one.

    A visit counts once: its record or the first of its documents, in its newest version (A193, A194 say what did not).

    `layout`: the one that the person named for sheets. `told` takes what is said of sources as a whole. `tally` takes
    what only a whole bundle or a whole run shows. Raises InputError where nothing can be read: a single source, or all
    of them.
    """
    said = told if told is not None else []
    found = find_sources(sources, documents=True)
    said += found.issues
    words = words or WordsKnown(converter.maps)
    ordered = in_order(found.paths)
    counted = counted_over(ordered, converter, layout)
    visits, bundles = Visits(converter, words, counted), Bundles(converter, words, counted)
    for source, document in ordered:
        try:
            if not document:
                yield from visits.of(source, layout)
                continue
            for entry, ears in bundles.of(source, said):
                if tally is not None:
                    at_once, apart = ways_of_both(ears)
                    if at_once or apart:
                        tally.both_ways(entry, at_once, apart)
                yield entry
        except BridgeError as error:
            if len(found.paths) == 1:
                raise
            said.append(unread(source, error))
    said += [*converter.told_of_sources(), *visits.told(), *counted.told()]
    if tally is not None:
        tally.left_out = counted.left_out


def audit(
    sources: Sequence[Path],
    converter: Converter,
    layout: Layout | None = None,
    *,
    evidence: int = EVIDENCE,
    seen: Callable[[], None] = lambda: None,
    wanted: Callable[[Entry], bool] = lambda entry: True,
) -> Audited:
    """What the records of the sources say of how consistently they are coded; `seen` is called for each record.

    `evidence`: how many issues are kept of each pattern; `wanted`: which records count.
    Raises InputError as `entries` does.
    """
    words, told = WordsKnown(converter.maps), [*converter.issues]
    tally, unnamed = Tally(evidence, words.all_of), Unnamed(converter.maps)
    for entry in entries(sources, converter, layout, told, tally, words):
        if wanted(entry):
            tally.enter(unnamed.of(entry))
        seen()
    audited = tally.audited()
    audited.issues = [*told, *audited.issues]
    return audited
