"""What a draft leaves open, worst first, and what becomes of an answer."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.drafting.clashes import rival, share_lists
from bridge.drafting.dates import read_date
from bridge.drafting.decide import draft_layout, fill_in, read_ways
from bridge.drafting.gaps import missing
from bridge.drafting.heading_sides import LATIN
from bridge.drafting.plain_names import field_name
from bridge.drafting.shapes import ASK, IGNORE, YOURS, Draft, Guess, Rows
from bridge.drafting.taken_over import take_over
from bridge.layout import find_field

_BLANK = (("blank", "nothing, like an empty cell"), ("word", "something; ask me in each column"))


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that the sheet does not tell. `about`: marks, rows, dates, years, blank, field, setting or word."""

    about: str
    text: str
    answers: tuple[tuple[str, str], ...]
    """What goes into the layout, and how it is told."""
    heading: str = ""
    name: str = ""
    """Name of the setting, the word, or the mark."""
    samples: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[str, str, str]:
        return self.about, self.heading, self.name


def open_questions(draft: Draft) -> list[Question]:
    """Everything that is asked, worst first: Latin marks, rows, dates, sides and consent, fields, words, settings."""
    found: list[Question] = []
    eyes = sorted({g.eye for g in draft.guesses if g.eye})
    if len(eyes) > 1 and not draft.latin:
        told = f"Do {' and '.join(eyes)} in your headings mean the right and the left ear?"
        ears = tuple(f"{e} {LATIN[e.casefold()]}" for e in eyes if e.casefold() in LATIN)
        choices = (("yes", f"yes: {', '.join(ears)}"), ("no", "no; ask me column by column"))
        found.append(Question("marks", told, choices))
    if draft.rows == ASK:
        rows = (("visit", "a whole visit"), ("ear", "one ear of a visit"))
        found.append(Question("rows", "What is one row of the sheet?", rows))
    if draft.date_choices:
        options = tuple((f, f) for f in draft.date_choices)
        found.append(Question("dates", f"How are dates written? ({draft.dates_why})", options, samples=_dates(draft)))
    if draft.two_digit_years == ASK:
        years = tuple((y, f"{y} to {int(y) + 99}") for y in ("1925", "1935", "1945", "2000"))
        found.append(Question("years", f"Which years do two digits mean? ({draft.years_why})", years))
    guesses = sorted(draft.guesses, key=lambda g: not _grave(g))
    found += [_field(g, draft) for g in guesses if g.field == ASK]
    found += [_word(g, w, draft) for g in guesses for w, means in g.words.items() if means == ASK]
    found += [_setting(g, s, draft) for g in guesses for s, value in g.settings.items() if value == ASK]
    found += [Question("blank", f"What does a cell with only “{m}” say?", _BLANK, name=m) for m in draft.blank_asked]
    return found


def _grave(guess: Guess) -> bool:
    return any(f.startswith(("consent", "sharing", "ear")) or f.endswith("drum") for f in (guess.field, *guess.options))


def _dates(draft: Draft) -> tuple[str, ...]:
    cells = next((g.column.cells for g in draft.guesses if g.field.startswith("start")), None)
    return tuple(list(cells)[:3]) if cells else ()


def _samples(guess: Guess) -> tuple[str, ...]:
    return tuple(cell[:60] for cell in list(guess.column.cells)[:3])


def _field(guess: Guess, draft: Draft) -> Question:
    answers = tuple((f, field_name(f, draft.rows)) for f in guess.options)
    text = f"What is the column “{guess.heading[:60]}”? ({guess.why})"
    return Question("field", text, answers, guess.heading, samples=_samples(guess))


def _word(guess: Guess, word: str, draft: Draft) -> Question:
    means = tuple((m, m) for m in guess.meanings)
    told = "leave it as my own word" if _free(guess) else "leave it; each such row is told when it is read"
    own = ((word, told),)
    text = f"What does “{word[:60]}” mean in “{guess.heading[:60]}” ({field_name(guess.field, draft.rows)})?"
    return Question("word", text, (*means, *own), guess.heading, word)


def _free(guess: Guess) -> bool:
    return guess.field.split(".")[-1] in ("drum", "canal", "contents", "outer_ear", "mastoid_cavity", "wax")


def _setting(guess: Guess, name: str, draft: Draft) -> Question:
    what = {
        "unit": "In which unit are the bare numbers",
        "scale": "On which scale are the bare sizes",
        "name": "In which order is the name written",
    }[name]
    answers = tuple((c, c) for c in guess.choices[name])
    return Question("setting", f"{what} in “{guess.heading[:60]}”?", answers, guess.heading, name, _samples(guess))


def answer(draft: Draft, question: Question, said: str) -> Draft:
    """The draft with an answer in it; what follows from it is found out, and may be asked in turn."""
    if question.about == "marks":
        draft.latin = said
        if said != "yes":
            return draft
        again = draft_layout(draft.sheet, draft.terms, latin=True)
        again.latin = said
        return take_over(again, draft.own) if draft.own else again
    if question.about == "rows":
        draft.rows = said
        _of_rows(draft)
    elif question.about == "dates":
        draft.dates += [f for f in draft.date_choices if _day_first(f) == _day_first(said)]
        draft.date_choices = []
    elif question.about == "years":
        draft.two_digit_years = said
    elif question.about == "blank":
        draft.blank_asked.remove(question.name)
        if said == "blank":
            draft.blank_cells.append(question.name)
        else:
            for guess in draft.guesses:
                if guess.meanings and question.name in guess.column.cells:
                    guess.words[question.name] = ASK
    else:
        guess = draft.guess_of(question.heading)
        _answer(draft, guess, question, said)
    draft.missing = missing(draft)
    return draft


def _day_first(form: str) -> bool:
    bare = form.lower().replace("ddd", "")
    return bare.index("d") < bare.index("m")


def _of_rows(draft: Draft) -> None:
    """What a column can be, once it is told what a row is."""
    kind: Rows = "ear" if draft.rows == "ear" else "visit"
    for guess in draft.guesses:
        guess.options = [o for o in guess.options if o == IGNORE or find_field(o, kind)]
        if guess.field not in (ASK, IGNORE) and not find_field(guess.field, kind):
            guess.field, guess.options = ASK, ["note", IGNORE]
        elif guess.field == ASK and guess.options == [IGNORE]:
            guess.options = ["note", IGNORE]


def clash(draft: Draft, question: Question, said: str) -> str:
    """The heading of another column that has the place of this answer already; empty where there is none."""
    if question.about != "field" or said == IGNORE:
        return ""
    guess = draft.guess_of(question.heading)
    if said == "start" and guess.column.share(lambda c: bool((d := read_date(c)) and d.time)) < 0.5:
        said = "start.date"
    return rival(draft, guess, said)


def _answer(draft: Draft, guess: Guess, question: Question, said: str) -> None:
    if question.about == "word":
        guess.words[question.name] = said
        if said == question.name:
            del guess.words[question.name]
    elif question.about == "setting":
        guess.settings[question.name] = said
    else:
        guess.field, guess.options, guess.sure, guess.why = said, [], "sure", YOURS
        order_open, years = draft.date_choices, draft.two_digit_years
        if said != IGNORE:
            fill_in(draft, guess)
            share_lists(draft)
        known = list(draft.dates)
        read_ways(draft)
        if not order_open:
            draft.dates = list(dict.fromkeys([*known, *draft.dates]))
            draft.date_choices = [] if known else draft.date_choices
        draft.two_digit_years = years if years not in ("", ASK) else draft.two_digit_years
