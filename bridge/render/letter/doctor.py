"""The letter of one visit for a doctor: the family doctor's summary, or a referral."""

from __future__ import annotations

from bridge.render import ears, facts, page, sections
from bridge.render.codes import code_rows
from bridge.render.entries import Entries
from bridge.render.head import head, record_hashes
from bridge.render.letter.frame import framed, tool
from bridge.render.page import Block, Grid, Line, Lines, Page, Pairs, Section, Step, Steps, Text
from bridge.render.referral import referrals


def doctor_page(entries: Entries) -> Page:
    made = framed(entries, head(entries))
    table = ears.ear_table(entries)
    told = sections.sections(entries, table.told)
    own_words = [s for s in told if s.key == "notes"] if table.bare else []
    referral = entries.kind == "referral"
    alert = sections.attention(entries)
    if alert:
        made.sections.append(Section("alert", alert.title, [Text(x.words) for x in alert.groups[0].lines], 2, "alert"))
    made.sections.append(_asked(entries, referral))
    notes: list[Block] = [Text(note) for note in sections.table_notes(entries)]
    if own_words:
        blocks = [block for section in own_words for block in _blocks(section)]
        made.sections.append(Section("ears", "In the clinic’s own words", [*blocks, *notes]))
    else:
        made.sections.append(Section("ears", "The ears", [_table(table), *notes]))
    keys: set[str] = {s.key for s in made.sections}
    for section in (s for s in told if s not in own_words):
        key = section.key or "more"
        key = key if key not in keys else f"{key}-{len(keys)}"
        keys.add(key)
        made.sections.append(Section(key, section.title, _blocks(section)))
    who = [Text(f"{a.name}, {', '.join(a.lines)}.") for a in sections.authors(entries)] or [Text("Not recorded.")]
    made.sections.append(Section("who", "Who refers" if referral else "Who wrote this", list(who)))
    made.sections.append(Section("codes", "Codes", [_codes(entries)]))
    reader = "receiver" if referral else "doctor"
    made.closing = [
        "This letter reports what was recorded at the visit. Suspicions in it are not diagnoses. "
        f"The {reader} decides what follows; local rules come first.",
        _origin(entries),
    ]
    return made


def _origin(entries: Entries) -> str:
    by = tool(entries)
    made = "Made from the practice’s own record" + (f" by {by}." if by else ".")
    hashes = record_hashes(entries)
    known = [f"SHA-256 of the record: {found}." for found in hashes] or ["No fingerprint of the record is given."]
    return " ".join([made, *known])


def _asked(entries: Entries, referral: bool) -> Section:
    title = "What you are asked" if referral else "What you are asked to do"
    blocks: list[Block] = []
    if referral:
        for one in referrals(entries):
            blocks += [Text(one.headline, "strong"), Pairs(one.rows)]
        if not blocks:
            blocks.append(Text("No referral is recorded."))
        blocks.append(
            Text(
                "How soon is the judgement of the practitioner who saw the ear. Local rules come first; "
                "in an emergency, the emergency services.",
                "caution",
            )
        )
        return Section("asked", title, blocks, 2, "box")
    asks = sections.asks(entries)
    if asks.asks:
        blocks.append(Steps([Step(ask.action, ask.details) for ask in asks.asks]))
    else:
        blocks.append(Text(" ".join(p for p in (f"{asks.answer}.", asks.explained) if p), "strong"))
    blocks += [Lines([Line("Already done by the clinic", line)]) for line in asks.referred]
    return Section("asked", title, blocks, 2, "box")


def _table(table: ears.EarTable) -> page.Ears:
    return page.Ears(("Right ear", "Left ear"), [
        page.Row(row.key, row.title, [page.Cell(cell.ear, [
            *([Text(cell.answer, "quiet")] if cell.answer else []),
            *(Lines(_lines(block.lines), block.title) for block in cell.blocks),
        ]) for cell in row.cells])
        for row in table.rows
    ])  # fmt: skip


def _lines(found: list[facts.Line]) -> list[Line]:
    return [Line(line.subject, line.words) for line in found]


def _blocks(section: sections.Section) -> list[Block]:
    blocks: list[Block] = [Text(section.intro, "quiet")] if section.intro else []
    blocks += [Lines(_lines(group.lines), group.title) for group in section.groups]
    return blocks + ([Text(section.empty)] if section.empty else [])


def _codes(entries: Entries) -> Block:
    rows = [list(row) for row in code_rows(entries)]
    if not rows:
        return Text("Nothing in this letter has a published code.")
    return Grid(
        ["Fact", "Ear", "Code system", "Code", "Meaning", "The practice’s own words"],
        rows,
        "For entering in a record system; what has no published code stands in words only. What is marked as "
        "suspected, not present or known from before is not to be entered as a finding of this visit.",
    )
