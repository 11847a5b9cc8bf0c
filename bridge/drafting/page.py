"""The draft as a layout file: YAML that loads, with a reason behind every line."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from bridge.drafting.gaps import letter_gaps
from bridge.drafting.plain_names import field_name
from bridge.drafting.questions import open_questions
from bridge.drafting.shapes import ASK, IGNORE, Draft, Guess

_BARE = re.compile(r"[A-Za-z][A-Za-z0-9_.]*(?: [A-Za-z0-9%/_.()]+)*")
_WORDS_OF_YAML = frozenset(("y", "n", "yes", "no", "on", "off", "true", "false", "null", "none"))
_SHARED = ("drum", "canal", "contents", "outer_ear", "mastoid_cavity", "wax", "view")
"""Fields whose words stand once for all columns, above the columns."""
WIDTH = 110
_HEAD = """\
# A layout drafted from the sheet itself: which column is which field of a visit.
# Behind every line stands how sure it is (sure, likely, unsure) and why. Read it once, and change what is wrong: nobody
# knows your sheet as you do. `ignore` says that a column is known and not wanted.
"""
_ASKED = """\
# Where `ask` stands, the sheet did not tell. Put one of the answers beside it in its place; until then this layout is
# not used. `visit-bridge layout draft --ask` puts the same questions to you one by one.
"""


def layout_page(draft: Draft) -> str:
    """The layout file. The same sheet gives the same text."""
    asked = bool(open_questions(draft))
    lines = [*_HEAD.splitlines(), *(_ASKED.splitlines() if asked else []), ""]
    lines += [f"name: {scalar(str(draft.own.get('name') or draft.sheet.name))}"]
    choices = "  # visit: a whole visit, or ear: one ear of it" if draft.rows == ASK else f"  # {draft.rows_why}"
    lines += [f"rows: {draft.rows}{choices}", ""]
    lines += list(_settings(draft))
    lines += list(_words(draft))
    lines += ["", "columns:"]
    for guess in draft.guesses:
        lines += _column(guess, draft)
    lines += [f"# {told}" for told in _afterwards(draft)]
    return "\n".join(_readable(line).rstrip() for line in lines) + "\n"


def _readable(line: str) -> str:
    """The line without characters that no text file should hold; in texts they are escaped already."""
    return "".join(c if c.isprintable() else "?" for c in line)


def scalar(text: str) -> str:
    """A text as YAML, in quotation marks where it could be taken for something else."""
    plain = _BARE.fullmatch(text) and text.casefold() not in _WORDS_OF_YAML
    if plain:
        return text
    return "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in json.dumps(text, ensure_ascii=False))


def _settings(draft: Draft) -> Iterator[str]:
    for name, value in draft.sheet.settings.items():
        if name == "query":
            yield from (f"# Tables joined, {told}." for told in draft.sheet.joined)
            yield "query: >-"
            yield from (f"  {line}" for line in str(value).splitlines())
        else:
            yield f"{name}: {scalar(str(value)) if not isinstance(value, list) else _list(value)}"
    if draft.date_choices:
        choices = " or ".join(draft.date_choices)
        yield f"dates: {_list([*draft.dates, ASK])}  # {choices}: {draft.dates_why}"
    elif draft.dates:
        yield f"dates: {_list(draft.dates)}  # {draft.dates_why}"
    if draft.times:
        yield f"times: {_list(draft.times)}"
    if draft.two_digit_years:
        yield "# The first of the hundred years that two digits mean."
        yield f"two_digit_years: {draft.two_digit_years}  # {draft.years_why}"
    if draft.blank_cells or draft.blank_asked:
        yield "# A cell that holds only one of these says nothing, like an empty cell: not recorded."
        asked = [ASK] if draft.blank_asked else []
        marks = " and ".join(f"“{m}”" for m in draft.blank_asked)
        why = f"  # put {marks} here if that says nothing; otherwise say in the column's words what it means"
        yield f"blank_cells: {_list([*draft.blank_cells, *asked])}{why if asked else ''}"
    for name in ("yes", "no"):
        if isinstance(draft.own.get(name), list):
            yield f"{name}: {_flow(draft.own[name])}"
    yield "# Rows of visits before this day are left alone and counted. Take the first # away to use it."
    since = draft.own.get("start_from")
    yield f"start_from: {since}" if since else f"# start_from: {draft.latest_year or 2026}-01-01"
    if draft.constants:
        yield "# What holds for every row of the sheet."
        yield "constants:"
        yield from (f"  {path}: {scalar(value)}" for path, value in draft.constants.items())


def _list(items: list[str]) -> str:
    return f"[{', '.join(scalar(i) if i == ASK or ',' not in i else json.dumps(i) for i in items)}]"


def _words(draft: Draft) -> Iterator[str]:
    """Words that mean the same in every column of one kind of field."""
    shared: dict[str, dict[str, str]] = {}
    answers: dict[str, list[str]] = {}
    for guess in draft.guesses:
        last = guess.field.split(".")[-1]
        if last in _SHARED and guess.words:
            shared.setdefault(last, {}).update(guess.words)
            answers[last] = guess.meanings
    if not shared and not draft.kept_words:
        return
    yield ""
    yield "# Your own words and what they mean, by field; the star stands for either ear, before and after."
    yield "words:"
    for pattern, kept in draft.kept_words.items():
        last = pattern.removeprefix("*.")
        yield from _table_of(pattern, {**kept, **shared.pop(last, {})}, answers.get(last, []))
    for last in _SHARED:
        if last in shared:
            yield from _table_of(f"*.{last}", shared[last], answers[last])


def _table_of(pattern: str, words: dict[str, str], answers: list[str]) -> Iterator[str]:
    if words:
        yield f"  {json.dumps(pattern, ensure_ascii=False)}:"
    for word in sorted(words, key=str.casefold):
        options = f"  # {', '.join(answers)}; or take the line out: your own word" if words[word] == ASK else ""
        yield f"    {scalar(word)}: {scalar(words[word])}{options}"


def _column(guess: Guess, draft: Draft) -> list[str]:
    reason = f"{guess.sure}: {guess.why}" + (f" ({guess.marks})" if guess.marks and guess.field != ASK else "")
    key = f"  {scalar(guess.heading)}:"
    if guess.field == ASK:
        return [*_comment("; ".join(_options(guess, draft)), "answers: "), *_beside(f"{key} {ASK}", reason)]
    if guess.kept is not None:
        return _beside(f"{key} {_flow(guess.kept)}", reason)
    words = {} if guess.field.split(".")[-1] in _SHARED else guess.words
    if not guess.settings and not words:
        return _beside(f"{key} {guess.field}", reason)
    lines = [*_beside(key, reason), f"    to: {guess.field}"]
    for name, value in guess.settings.items():
        told = f"  # {' or '.join(guess.choices[name])}" if value == ASK else ""
        lines.append(f"    {name}: {scalar(value)}{told}")
    if words:
        lines.append("    words:")
        for word in sorted(words, key=str.casefold):
            told = f"  # {', '.join(guess.meanings)}" if words[word] == ASK else ""
            lines.append(f"      {scalar(word)}: {scalar(words[word])}{told}")
    return lines


def _flow(data: Any) -> str:
    """A part of a layout that is there already, on one line."""
    if isinstance(data, dict):
        return "{" + ", ".join(f"{json.dumps(str(k), ensure_ascii=False)}: {_flow(v)}" for k, v in data.items()) + "}"
    if isinstance(data, list):
        return f"[{', '.join(map(_flow, data))}]"
    return json.dumps(str(data), ensure_ascii=False)


def _options(guess: Guess, draft: Draft) -> list[str]:
    return [f"{f} = {field_name(f, draft.rows)}" if f != IGNORE else IGNORE for f in guess.options]


def _beside(line: str, reason: str) -> list[str]:
    """A line with its reason behind it, or above it where the line would be too long."""
    told = f"{line}  # {' '.join(reason.split())}"
    return [told] if len(told) <= WIDTH else [*_comment(reason, ""), line]


def _comment(text: str, what: str) -> list[str]:
    from textwrap import wrap

    return wrap(f"{what}{text}", WIDTH, initial_indent="  # ", subsequent_indent="  #   ", break_on_hyphens=False)


def _afterwards(draft: Draft) -> list[str]:
    found = [f"No column gives {told}; without it the layout cannot be used." for told in draft.missing]
    gaps = [f"No letter can go out by itself: no column gives {told}." for told in letter_gaps(draft)]
    return [*found, *gaps, *draft.sheet.remarks]
