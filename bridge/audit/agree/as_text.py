"""Agreement for a person: 80 columns, what differs most first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from bridge.audit.agree.shapes import ERRORS, Agreed, Difference, Share
from bridge.audit.agree.yardstick import levels
from bridge.audit.measures import band
from bridge.audit.report.lines import Line, heading, table, wrapped
from bridge.audit.shapes import Agreement, Rate
from bridge.issues import rule_of

FEW = 10
"""Lines below which a share says next to nothing."""
FIRST = 12
"""Differences that are told without --verbose."""
CAUTION = (
    "A second coder is not the truth: where the two differ, look at the record. Kappa falls where one code prevails, "
    "however well coders agree, so it is never told without the share."
)
NOBODY = "not recorded"


def told(agreed: Agreed, *, verbose: bool = False) -> Iterator[Line]:
    """All lines; issues of the sheets themselves are told apart."""
    drawn = f"{agreed.lines} lines, drawn from {agreed.of} things with the seed “{agreed.seed}”"
    yield Line(f"Agreement on sheet {agreed.sheet}", "head")
    yield from wrapped(f"{drawn}{f', spread by {agreed.by}' if agreed.by else ''}.")
    for coder in agreed.coders:
        unsure = f", {coder.cannot_tell} cannot be told" if coder.cannot_tell else ""
        yield from wrapped(f"{coder.name}: {coder.answered} of {coder.of} answered{unsure}.", first="  ", rest="    ")
    if not any(share.same.of for share in agreed.with_record):
        yield from wrapped("No line has an answer that counts, so there is nothing to compute.")
        return
    yield from heading("The record, as second coders have it")
    yield from _shares(agreed.with_record)
    for share in agreed.with_record:
        yield from _sentence(share)
    if agreed.by:
        yield from wrapped(
            f"Lines were spread by {agreed.by}, so these shares are those of the sheet, not of all records."
        )
    if agreed.weighted is not None:
        yield from wrapped(f"Over everything drawn from, each group by its size: {percent(agreed.weighted)} the same.")
    if agreed.between:
        yield from heading("Coders with each other")
        yield from _between(agreed)
    yield from _types(agreed)
    for title, shares in (("By field", agreed.kinds), ("By practitioner", agreed.practitioners)):
        if len(shares) > 1 or (shares and shares[0].name):
            yield from heading(title)
            yield from _shares(shares)
    yield from _differences(agreed.differences, verbose)
    yield from _two_ways(agreed)
    yield from heading("How to read it")
    yield from wrapped(CAUTION)
    yield from wrapped(_yardstick())


def percent(share: float | None) -> str:
    return "-" if share is None else f"{share * 100:.1f}%"


def _rate(rate: Rate) -> str:
    return f"{rate.count} of {rate.of}"


def _kappa(value: float | None) -> str:
    return "-" if value is None else f"{value:.3f}"


def _shares(shares: Sequence[Share]) -> Iterator[Line]:
    rows = [
        (_named(share), _rate(share.same), percent(share.same.share), percent(share.right.share), _kappa(share.kappa))
        for share in shares
    ]
    yield from table(("", "same meaning", "share", "right in all", "kappa"), rows)
    if any(share.lines < FEW for share in shares):
        yield from wrapped(f"* fewer than {FEW} lines, which say next to nothing.", first="  ", style="faint")


def _named(share: Share) -> str:
    return f"{share.name or NOBODY}{' *' if share.lines < FEW else ''}"


def _sentence(share: Share) -> Iterator[Line]:
    if share.interval:
        low, high = (percent(end) for end in share.interval)
        yield from wrapped(
            f"{share.name}: of everything that was drawn from, between {low} and {high} would be found the same, with"
            " 95 percent confidence."
        )
    if word := band(share.kappa):
        called = f"is called {word} (Landis and Koch, 1977), beside {percent(share.same.share)}."
        yield from wrapped(f"{share.name}: kappa {_kappa(share.kappa)} {called}")
    elif share.same.of:
        yield from wrapped(f"{share.name}: kappa is not defined, since everything has one code.")


def _between(agreed: Agreed) -> Iterator[Line]:
    rows = [_agreement(one) for one in (*agreed.between, *((agreed.everyone,) if agreed.everyone else ()))]
    yield from table(("", "things", "equal", "kappa", "alpha"), rows)
    yield from wrapped("Alpha is Krippendorff's for names of codes; lines that a coder left out do not spoil it.")


def _agreement(one: Agreement) -> tuple[str, ...]:
    return " and ".join(one.coders), str(one.things), percent(one.percent), _kappa(one.kappa), _kappa(one.alpha)


def _types(agreed: Agreed) -> Iterator[Line]:
    counts = Counter(found.error for found in agreed.differences)
    if not counts:
        return
    yield from heading("Types of difference")
    rows = []
    for error, rule in ERRORS.items():
        if counts[error]:
            page = rule_of(rule)
            rows.append((page.title if page else error, str(counts[error]), rule))
    yield from table(("", "lines", "rule"), rows)


def _differences(found: Sequence[Difference], verbose: bool) -> Iterator[Line]:
    if not found:
        return
    groups: dict[tuple[str, str, str, str, str], list[Difference]] = {}
    for one in found:
        groups.setdefault((one.error, one.given.field, one.given.words.casefold(), one.has, one.chosen), []).append(one)
    ordered = sorted(groups.values(), key=lambda ones: -len(ones))
    yield from heading("What differs, the most frequent first")
    for ones in ordered if verbose else ordered[:FIRST]:
        yield from _difference(ones)
    if len(ordered) > FIRST and not verbose:
        yield Line(f"  and {len(ordered) - FIRST} more; --verbose tells them all, --csv writes them down.")


def _difference(ones: Sequence[Difference]) -> Iterator[Line]:
    first = ones[0]
    has, chosen = (f"“{text}”" if text else "no code" for text in (first.has, first.chosen))
    if first.error == "no meaning fits":
        chosen = "no meaning that fits"
    who = f", {len(first.coders)} of {first.of} coders" if first.of > 1 else ""
    times = f"{len(ones)} times, " if len(ones) > 1 else ""
    records = ", ".join(dict.fromkeys(one.given.record for one in ones[:4]))
    code = " (one code for both)" if first.same_code else ""
    yield from wrapped(
        f"“{first.given.words}” ({first.given.field}): record {has}, coder {chosen}{code}: {first.error}{who};"
        f" {times}visit {records}",
        first="  ",
        rest="    ",
    )


def _two_ways(agreed: Agreed) -> Iterator[Line]:
    if agreed.two_ways:
        yield from heading("Answered in two ways by one coder")
        for one in agreed.two_ways:
            ways = ", ".join(f"“{way}”" for way in one.meanings)
            yield from wrapped(f"{one.coder}: “{one.words}” ({one.field}): {ways}", first="  ", rest="    ")


def _yardstick() -> str:
    told = "; ".join(f"{one.of} {one.level_2} or {one.level_3}" for one in levels())
    return (
        f"A yardstick from elsewhere: hospital trusts in England were once asked for so many percent of right codes, at"
        f" level 2 or 3: {told}. Nothing published says what ear-care records should reach."
    )
