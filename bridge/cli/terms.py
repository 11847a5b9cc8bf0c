"""`visit-bridge terms`: which meaning and code a word gets."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any, Literal

import click

from bridge.cli.adopt import command as adopt
from bridge.cli.options import json_option, practice_option

if TYPE_CHECKING:
    from bridge.coding import Concept, TermMaps
    from bridge.coding.finer import Side
    from bridge.visit.base import Coding

WIDTH = 80
MOST = 15


@click.group("terms")
def command() -> None:
    """Show which meaning and which codes your words get.

    \b
    Examples:
      visit-bridge terms find "?perf"
      visit-bridge terms find impacted --kind wax-amount
      visit-bridge terms show wax-impacted
    """


command.add_command(adopt)


@command.command("find")
@click.argument("words")
@click.option("--kind", metavar="KIND", help="Look in one kind of field only, such as wax-amount, canal, drum, method.")
@practice_option
@json_option
@click.pass_context
def find(ctx: click.Context, words: str, kind: str | None, practice: Path | None, as_json: bool) -> None:
    """Find what WORDS mean in each kind of field, and what is near them.

    WORDS are as you would write them in a record. The exit code is 1 where no field knows them exactly.

    \b
    Examples:
      visit-bridge terms find "heavy wax"
      visit-bridge terms find "no perforation" --kind drum
      visit-bridge terms find perferation --json
    """
    from bridge.coding import suggest
    from bridge.phrases import ambiguous_words, parse_phrase

    maps = _maps(practice)
    kinds = _kinds(maps, kind)
    phrase = parse_phrase(words)
    term = phrase.term if phrase else words
    hits = _exact(maps, kinds, words)
    said = None
    if not hits and phrase:
        said = phrase.assertion
        hits = [hit for hit in _exact(maps, kinds, term) if not said or maps.kinds[hit[0]].assertable]
    other = [c for c in _containing(maps, kinds, term) if c not in {hit for _, hit in hits}][:MOST]
    near = list(dict.fromkeys(word for name in kinds for word in suggest(name, term, maps)))[:MOST] if not hits else []
    if as_json:
        data = {
            "words": words,
            "assertion": said,
            "ambiguous": [{"word": w, "reason": why} for w, why in ambiguous_words(words)],
            "exact": [{"field_kind": name, **_as_data(maps, hit)} for name, hit in hits],
            "containing": [_as_data(maps, concept) for concept in other],
            "near": near,
        }
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        for word, reason in ambiguous_words(words):
            click.echo("\n".join(wrap(f"“{word}” can be read in two ways: {reason}.", WIDTH)))
        click.echo("\n".join(_report(maps, words, said, hits, other, near)))
    ctx.exit(0 if hits else 1)


@command.command("show")
@click.argument("concept_or_code", required=False)
@click.option("--code-system", is_flag=True, help="Print our own code system as a FHIR CodeSystem in JSON.")
@practice_option
@json_option
def show(concept_or_code: str | None, code_system: bool, practice: Path | None, as_json: bool) -> None:
    """Show a meaning with all its words, or every meaning that has a code.

    CONCEPT_OR_CODE is a meaning such as wax-impacted, or a code such as 18070006.

    \b
    Examples:
      visit-bridge terms show wax-impacted
      visit-bridge terms show 18070006
      visit-bridge terms show --code-system > codesystem.json
    """
    from bridge.coding import own_code_system

    if code_system == bool(concept_or_code):
        raise click.UsageError("Give either a meaning or code to show, or --code-system.")
    if code_system:
        click.echo(json.dumps(own_code_system(), indent=2, ensure_ascii=False))
        return
    maps, asked = _maps(practice), (concept_or_code or "").strip()
    found = [c for c in maps.concepts.values() if asked in {c.code, *_all_codes(maps, c)}]
    if not found:
        raise click.UsageError(f"No meaning and no code here is called {asked!r}. Try `visit-bridge terms find`.")
    if as_json:
        click.echo(json.dumps([_as_data(maps, concept) for concept in found], indent=2, ensure_ascii=False))
    else:
        click.echo("\n\n".join("\n".join(_page(maps, concept)) for concept in found))


def _maps(practice: Path | None) -> TermMaps:
    """The term maps under the practice's own words, where there is a practice folder."""
    from bridge.coding import load_term_maps
    from bridge.errors import SettingsError
    from bridge.practice import find_practice, load_practice

    try:
        folder = find_practice(practice)
    except SettingsError:
        if practice is not None:
            raise
        return load_term_maps()
    settings, _ = load_practice(folder)
    if settings is None:
        return load_term_maps(folder)
    return load_term_maps(folder, licensed=settings.codes == "licensed", version=settings.snomed_version)


def _kinds(maps: TermMaps, kind: str | None) -> list[str]:
    if kind is not None and kind not in maps.kinds:
        raise click.UsageError(f"There is no kind {kind!r}. Kinds are {', '.join(sorted(maps.kinds))}.")
    return [kind] if kind else list(maps.kinds)


def _exact(maps: TermMaps, kinds: Iterable[str], words: str) -> list[tuple[str, Concept]]:
    """For one kind everything that its fields would take; for all kinds each kind's own words."""
    from bridge.coding import fold

    names = list(kinds)
    if len(names) == 1:
        return [(names[0], hit)] if (hit := maps.find(names[0], words)) else []
    return [(name, maps.words[name][fold(words)]) for name in names if fold(words) in maps.words[name]]


def _containing(maps: TermMaps, kinds: Iterable[str], words: str) -> list[Concept]:
    from bridge.coding import fold

    folded = f" {fold(words)} "
    found = (
        concept
        for name in kinds
        for known, concept in maps.words[name].items()
        if folded.strip() and folded in f" {known} "
    )
    return list(dict.fromkeys(found))


def _report(
    maps: TermMaps,
    words: str,
    said: str | None,
    hits: list[tuple[str, Concept]],
    other: list[Concept],
    near: list[str],
) -> Iterator[str]:
    if hits:
        yield f"“{words}” means{f' ({said})' if said else ''}:"
        for name, concept in hits:
            yield from _lines(maps, name, concept)
        if said:
            yield from wrap(f"As it is {said}, only the own code is sent, except in an impression.", WIDTH)
    else:
        yield f"No field knows “{words}” exactly; it would go out in your own words."
    if near:
        yield from wrap(f"Spelt like it: {', '.join(near)}", WIDTH)
    if other:
        yield "Also with these words:"
        for concept in other:
            yield from _lines(maps, concept.kind, concept)


def _lines(maps: TermMaps, kind: str, concept: Concept) -> Iterator[str]:
    yield f"  {kind + ':':<20}{concept.label}"
    yield from wrap(
        ", ".join(
            [concept.code if concept.published else f"{concept.code} (own word, no own code)", *_named(maps, concept)]
        ),
        WIDTH,
        initial_indent=" " * 22,
        subsequent_indent=" " * 24,
        break_on_hyphens=False,
    )


def _named(maps: TermMaps, concept: Concept, side: Side = None) -> list[str]:
    from bridge.fhir.systems import OWN, short_name

    codings = maps.codings(concept, side)
    return [f"{short_name(c.system)}:{c.code} {c.display or ''}" for c in codings if c.system != OWN]


def _sided(maps: TermMaps, concept: Concept) -> dict[Literal["right", "left", "both"], list[str]]:
    """Codes by ear, where the practice has chosen the licensed ones and an ear has one of its own."""
    plain = _named(maps, concept)
    sides: tuple[Literal["right", "left", "both"], ...] = ("right", "left", "both")
    return {side: named for side in sides if (named := _named(maps, concept, side)) != plain}


def _all_codes(maps: TermMaps, concept: Concept) -> set[str]:
    """With and without the short name of their system."""
    named = [*_named(maps, concept), *(name for names in _sided(maps, concept).values() for name in names)]
    short = {name.partition(" ")[0] for name in named}
    return short | {name.partition(":")[2] for name in short}


def _page(maps: TermMaps, concept: Concept) -> Iterator[str]:
    rows = [
        ("Meaning", concept.label),
        ("Own code", concept.code if concept.published else f"{concept.code} (your own; never sent)"),
        ("Field", maps.kinds[concept.kind].label),
        ("Codes", "; ".join(_named(maps, concept)) or "none that is verified and free to use"),
        *((side.capitalize(), "; ".join(named)) for side, named in _sided(maps, concept).items()),
        ("Words", ", ".join(concept.words)),
        ("Note", concept.note),
        ("Evidence", f"{concept.evidence}; edition {concept.edition}"),
    ]
    for name, text in rows:
        if text:
            start, rest = f"{name:<10}", " " * 10
            yield from wrap(text, WIDTH, initial_indent=start, subsequent_indent=rest, break_on_hyphens=False)


def _as_data(maps: TermMaps, concept: Concept) -> dict[str, Any]:
    sided = _sided(maps, concept)
    return {
        "kind": concept.kind,
        "concept": concept.code,
        "label": concept.label,
        "words": list(concept.words),
        "codings": _dumped(maps.codings(concept)),
        **({"by_ear": {side: _dumped(maps.codings(concept, side)) for side in sided}} if sided else {}),
        "note": concept.note,
        "evidence": concept.evidence,
        "edition": concept.edition,
    }


def _dumped(codings: Iterable[Coding]) -> list[dict[str, Any]]:
    return [c.model_dump(exclude_none=True) for c in codings]
