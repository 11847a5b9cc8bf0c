"""What a draft leaves open, worst first, and what becomes of an answer."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.drafting.decide import draft_layout, fill_in, read_ways
from bridge.drafting.heading_sides import LATIN
from bridge.drafting.plain_names import field_name
from bridge.drafting.shapes import ASK, IGNORE, YOURS, Draft, Guess

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
    own = () if guess.field.endswith("status") or not _free(guess) else ((word, "leave it as my own word"),)
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
        return draft_layout(draft.sheet, draft.terms, latin=True) if said == "yes" else draft
    if question.about == "rows":
        draft.rows = said
    elif question.about == "dates":
        order = "day" if said.lower().startswith("d") else "month"
        draft.dates += [f for f in draft.date_choices if f.lower().startswith(order[0])]
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
    return draft


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
        known = list(draft.dates)
        read_ways(draft)
        if not order_open:
            draft.dates = list(dict.fromkeys([*known, *draft.dates]))
            draft.date_choices = [] if known else draft.date_choices
        draft.two_digit_years = years if years not in ("", ASK) else draft.two_digit_years
