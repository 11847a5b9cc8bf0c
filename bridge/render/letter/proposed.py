"""What is proposed for the record: impressions with their ear and certainty, and the work that was done."""

from __future__ import annotations

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.tell import ear, said
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.by_ear import Pair, in_groups
from bridge.fhir.tell.clinical import nothing_done, procedure_outcome
from bridge.fhir.tell.words import words
from bridge.render.entries import Entries
from bridge.render.page import Block, Line, Lines, Section
from bridge.render.sections import PROPOSED, groups, section_of
from bridge.shapes import Json
from bridge.wording import say


def proposed(entries: Entries, told: set[int]) -> Section | None:
    """None where there is nothing. Adds to `told` what stands here and nowhere else."""
    impressions = [r for key in PROPOSED for r in _entries_of(entries, key)]
    told |= {id(r) for r in impressions}
    found: list[tuple[str, str, Pair]] = [(ear(r) or "", "", ("", _impression(r))) for r in impressions]
    found += [(ear(r) or "", "", ("", _work(r))) for r in entries.of("Procedure") if _is_work(r)]
    if not found:
        return None
    return Section("proposed", say("proposed.title"), [_compact(block) for block in groups(in_groups(found))])


def _compact(block: Block) -> Block:
    """The lines of an ear run on: this stands in the first screenful."""
    if not isinstance(block, Lines) or not block.title or any(line.subject for line in block.lines):
        return block
    return Lines([Line("", " ".join(line.words for line in block.lines))], block.title)


def _entries_of(entries: Entries, key: str) -> list[Json]:
    return entries.all((section_of(entries, key) or {}).get("entry", []))


def _impression(condition: Json) -> str:
    """In words, with its certainty; what is suspected, denied or past says so itself."""
    stated = any(c.get("code") == "confirmed" for c in condition.get("verificationStatus", {}).get("coding", ()))
    past = any(c.get("code") == "inactive" for c in condition.get("clinicalStatus", {}).get("coding", ()))
    told = said(condition)
    return say("proposed.confirmed", impression=told) if stated and not past and not not_in_force(condition) else told


def _is_work(procedure: Json) -> bool:
    """Whether something was done in this visit."""
    done = procedure.get("status") in ("completed", "stopped", "in-progress")
    return done and not (is_past_event(procedure) or nothing_done(procedure) or not_in_force(procedure))


def _work(procedure: Json) -> str:
    return say("proposed.work", method=words(procedure.get("code")), outcome=procedure_outcome(procedure))
