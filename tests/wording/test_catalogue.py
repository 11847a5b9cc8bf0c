"""The catalogues: every word asked for is there, none is there for nothing, all languages say the same things."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from string import Formatter

import pytest

from bridge.data import load_csv, load_yaml, table_path
from bridge.wording import (
    ENGLISH,
    catalogue,
    for_tag,
    in_any_language,
    languages,
    say,
    say_number,
    speaking,
    translated,
)
from tests.wording.english import english_elsewhere
from tests.wording.pseudo import CLOSE, OPEN, TAG, is_kept, outside, pseudo, pseudo_language, pseudo_words

ROOT = Path(__file__).parents[2]
SOURCES = {
    path: ast.parse(text)
    for path in sorted((ROOT / "bridge").rglob("*.py"))
    if "wording" in (text := path.read_text(encoding="utf-8")) or "say(" in text
}
NUMBERS = (".one", ".other")
ASKED = {"say", "say_number"}
AS_THEY_ARE = {"page"}
"""Asked for without values, because the page's own format puts them in."""


def keys_of(tag: str) -> dict[str, str]:
    return dict(catalogue(tag).words)


ENGLISH_KEYS = keys_of(ENGLISH)
OTHERS = sorted(set(languages()) - {ENGLISH})


def fields(words: str) -> set[str]:
    return {field for _, field, _, _ in Formatter().parse(words) if field is not None}


@cache
def calls() -> list[tuple[str, str, ast.Call]]:
    """Where words are asked for, by which function, and the call."""
    return [
        (f"{path.relative_to(ROOT)}:{node.lineno}", node.func.id, node)
        for path, tree in SOURCES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ASKED
    ]


def asked_for(node: ast.expr) -> Iterator[str]:
    """The keys that an argument may be, as far as it says them as they are."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from asked_for(node.body)
        yield from asked_for(node.orelse)


def pattern(node: ast.JoinedStr) -> str:
    """What keys an f-string can make; a hole may be anything that it does not say itself."""
    parts = []
    for value in node.values:
        if isinstance(value, ast.Constant):
            parts.append(re.escape(str(value.value)))
        elif isinstance(value, ast.FormattedValue):
            said = list(asked_for(value.value))
            parts.append("(?:" + "|".join(map(re.escape, said)) + ")" if said else ".*")
    return "".join(parts)


@cache
def uses() -> tuple[frozenset[str], tuple[re.Pattern[str], ...]]:
    """Every text of the code that may be a key, and the keys that its f-strings can make."""
    texts, patterns = set(), set()
    for tree in SOURCES.values():
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            elif isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
                begins = str(node.values[0].value)
                if re.fullmatch(r"[a-z][a-z0-9_-]*\..*", begins):
                    patterns.add(pattern(node))
    page = table_path("documents", "letter.html.j2").read_text(encoding="utf-8")
    texts |= set(re.findall(r"say\(\s*[\"']([^\"']+)[\"']", page))
    texts |= {row["says"] for row in load_csv(table_path("in-force.csv"))}
    texts |= {row["told"] for row in load_csv(table_path("documents", "cut.csv"))}
    return frozenset(texts), tuple(map(re.compile, sorted(patterns)))


def plan_keys() -> Iterator[str]:
    """Of each document of each region the keys that stand closest to its sections."""
    for path in [*sorted(table_path("documents").glob("*/*.yaml")), table_path("documents", "ips.yaml")]:
        table = load_yaml(path)
        region = path.parent.name if path.parent.name != "documents" else ""
        asked = [("document", "title"), ("alert", "answered")]
        for row in table["sections"]:
            asked += [
                (row["key"], what) for what in ("title", "empty", "noted", "asked", "none") if what in (*row, "title")
            ]
        for section, what in asked:
            places = (
                f"{region}.{table['name']}.{section}.",
                f"{table['name']}.{section}.",
                f"{region}.{section}.",
                f"{section}.",
                "",
            )
            yield next(key for place in places if (key := f"plan.{place}{what}") in ENGLISH_KEYS)


@pytest.mark.parametrize("tag", sorted(languages()))
def test_no_key_stands_in_two_files(tag: str) -> None:
    """The catalogue reads its tables in a hurry; here they are read with care, and say the same."""
    rows = [row for path in sorted(table_path("wording", tag).glob("*.csv")) for row in load_csv(path)]
    found = Counter(row["key"] for row in rows)
    assert [key for key, times in found.items() if times > 1] == []
    assert {row["key"]: row["words"] for row in rows} == catalogue(tag).words
    assert [row["key"] for row in rows if row["words"] != row["words"].strip() or "\n" in row["words"]] == []


def test_english_has_no_words_twice_that_stand_in_a_table_of_their_own() -> None:
    assert ENGLISH_KEYS.keys() & english_elsewhere().keys() == set()


def test_every_key_that_the_code_names_is_there() -> None:
    missing = []
    for where, name, call in calls():
        ends = NUMBERS if name == "say_number" else ("",)
        missing += [f"{where} {key}{e}" for key in asked_for(call.args[0]) for e in ends if key + e not in ENGLISH_KEYS]
        if isinstance(call.args[0], ast.JoinedStr):
            made = re.compile(pattern(call.args[0]))
            missing += [f"{where} {made.pattern}"] * (not any(made.fullmatch(k) for k in ENGLISH_KEYS))
    assert missing == []


def test_every_value_that_words_want_is_given() -> None:
    """As far as a call names its key and its values; a value that no words want is one too many."""
    wrong = []
    for where, name, call in calls():
        if any(keyword.arg is None for keyword in call.keywords):
            continue
        given = {str(keyword.arg) for keyword in call.keywords}
        keys = [key + e for key in asked_for(call.args[0]) for e in (NUMBERS if name == "say_number" else ("",))]
        wanted = set().union(*(fields(ENGLISH_KEYS[key]) for key in keys if key in ENGLISH_KEYS))
        counted = {"number"} if name == "say_number" else set()
        if (
            AS_THEY_ARE.isdisjoint(keys)
            and any(key in ENGLISH_KEYS for key in keys)
            and wanted - counted != given - counted
        ):
            wrong.append(f"{where} {keys}: {sorted(wanted)} wanted, {sorted(given)} given")
    assert wrong == []


def test_no_key_is_there_for_nothing() -> None:
    texts, made = uses()
    used = texts | {text + end for text in texts for end in NUMBERS} | set(plan_keys())
    asked = [key for key in ENGLISH_KEYS if key not in used]
    idle = [key for key in asked if key.startswith("plan.") or not any(one.fullmatch(key) for one in made)]
    assert idle == []


@pytest.mark.parametrize("tag", OTHERS)
def test_a_language_says_all_that_english_says_and_nothing_else(tag: str) -> None:
    english, other = {**english_elsewhere(), **ENGLISH_KEYS}, keys_of(tag)
    assert sorted(english.keys() - other.keys()) == []
    assert sorted(other.keys() - english.keys()) == []
    assert [key for key, words in other.items() if not words.strip()] == []


@pytest.mark.parametrize("tag", OTHERS)
def test_a_language_puts_in_the_same_values(tag: str) -> None:
    english, other = {**english_elsewhere(), **ENGLISH_KEYS}, keys_of(tag)
    wrong = [key for key, words in other.items() if fields(words) - {"number"} != fields(english[key]) - {"number"}]
    assert wrong == []
    assert [
        key for key, words in other.items() if "number" in fields(words) and "number" not in fields(english[key])
    ] == []


@pytest.mark.parametrize("tag", sorted(languages()))
def test_values_are_named_plainly(tag: str) -> None:
    """No index, no attribute, no conversion: a value cannot be asked for anything but its words."""
    odd = [
        key
        for key, words in catalogue(tag).words.items()
        for _, field, form, conversion in Formatter().parse(words)
        if field is not None and not (re.fullmatch("[a-z_]+", field) and not form and conversion is None)
    ]
    assert odd == []


def test_words_are_asked_in_the_language_in_force() -> None:
    assert say("told.born", day="1950") == "born 1950"
    assert say_number("told.thresholds", 1) == "1 threshold"
    assert say_number("told.thresholds", 0) == "0 thresholds"
    with speaking(pseudo()):
        assert say("told.born", day="1950") == f"{OPEN}ƀóŕń ~~{CLOSE}1950"
        assert translated("code.wax-none", "none") == f"{OPEN}ńóńé~~{CLOSE}"
        assert translated("code.of-the-practice", "ours") == "ours"
    assert say("told.born", day="1950") == "born 1950"
    assert translated("code.wax-none", "none") == "none"
    with pytest.raises(KeyError):
        say("told.nowhere")


def test_values_are_not_read_as_words_of_ours() -> None:
    assert say("told.born", day="{day} {0} {day.__class__}") == "born {day} {0} {day.__class__}"


@pytest.mark.parametrize(
    ("tag", "found"), [("en-GB", "en"), ("en", "en"), ("EN-us", "en"), ("tlh", "en"), ("", "en"), ("x-../..", "en")]
)
def test_a_tag_without_a_catalogue_is_told_in_english(tag: str, found: str) -> None:
    assert for_tag(tag).tag == found


def test_words_are_known_again_in_any_language(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "The client was not asked." in in_any_language("plan.sharing.asked")
    with pseudo_language(monkeypatch):
        assert for_tag(f"{TAG}-GB").tag == TAG


def test_the_pseudo_language_marks_words_and_no_values() -> None:
    assert pseudo_words("{number} of {things}!") == f"{{number}}{OPEN} óƒ ~~{CLOSE}{{things}}!"
    assert outside(f"ab {OPEN}ćď{CLOSE}ef") == "ab  ef"
    plain = {key: re.sub(r"\{.*?\}", "", words) for key, words in ENGLISH_KEYS.items() if not is_kept(key)}
    said = {key: re.sub(r"\{.*?\}", "", words) for key, words in pseudo().words.items()}
    lettered = [key for key, words in plain.items() if any(map(str.isalpha, words))]
    assert [key for key in lettered if len(said[key]) < len(plain[key]) * 1.3] == []
