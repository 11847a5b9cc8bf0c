"""The drawing in words: a line for each kind of mark, and the same lines as alternative text."""

from __future__ import annotations

from bridge.render.drawing.facts import Fact, Look
from bridge.render.drawing.marking import Marked
from bridge.render.drawing.picture import Styles, wax_height
from bridge.render.drawing.places import stretches
from bridge.wording import say

_MAIN = ("wax", "canal", "drum")
_OTHER = ("contents", "outer-ear", "cavity")
_PATTERNS = ("plain", "hatched", "outlined", "dotted")


def legend(look: Look, styles: Styles, marks: Marked, *, whole: bool = False) -> list[str]:
    """What the marks mean; `whole`: also what no mark shows, such as the colour of wax."""
    lines = [_wax(look, whole)] if look.wax else []
    lines += _marks(marks, whole)
    drawn = {"wax": styles.wax, "canal": styles.canal, "drum": styles.drum}
    view = look.states.get("view")
    for pattern in _PATTERNS:
        stems = [stem for stem in _MAIN if drawn[stem] == pattern]
        ear = len(stems) == len(_MAIN) and view and view.answer and _pattern(view.answer) == pattern
        ear = ear and not any(look.states[key].reason for key in (*_MAIN, "drum-view") if key in look.states)
        things = [_part(look, stem) for stem in (["view"] if ear else stems)]
        if things:
            lines.append(say(f"drawing.{pattern}", things=_listed(things)))
    lines += _partly(look, whole)
    if missing := _not_drawn(look, styles, marks):
        lines.append(say("drawing.not-drawn", things="; ".join(missing)))
    return lines


def alternative(title: str, lines: list[str]) -> str:
    return " ".join([say("drawing.alt", title=title), *lines])


def _wax(look: Look, whole: bool) -> str:
    wax, height = look.wax, wax_height(look)
    assert wax is not None
    details = _listed([d for d in (wax.name, *wax.details, *(wax.more if whole else ())) if d]) or say(
        "drawing.no-details"
    )
    if height == 0:
        return say("drawing.no-wax", details=details)
    line = say("drawing.wax", details=details)
    if whole and not stretches(wax.where):
        line += " " + say("drawing.caption.arrow")
    if height is None:
        line += " " + say("drawing.wax.no-amount")
    elif whole and wax.percent is None:
        line += " " + say("drawing.wax.by-word")
    return line


def _marks(marks: Marked, whole: bool) -> list[str]:
    lines = []
    for number, fact, loose in marks.numbered:
        said = _fact(fact)
        lines.append(say("drawing.mark.no-place" if loose and whole else "drawing.mark", number=number, what=said))
    return lines


def _fact(fact: Fact) -> str:
    named = _listed([fact.name, *fact.details])
    said = named if fact.assertion in ("present", "unread") else say(f"drawing.{fact.assertion}", what=named)
    return say(f"drawing.in.{fact.stem}", what=said)


def _part(look: Look, stem: str) -> str:
    """The part, with why it was not seen or examined; the reason for the whole ear where it has none of its own."""
    name = say(f"drawing.part.{stem}")
    state = look.states.get(stem)
    if stem == "drum" and (state is None or not state.reason):
        seen = look.states.get("drum-view")
        state = seen if seen and seen.reason else state
    view = look.states.get("view")
    reason = (state.reason if state else "") or (view.reason if view and view.answer and _borrowed(look, stem) else "")
    return say("drawing.with-reason", what=name, reason=reason) if reason else name


def _partly(look: Look, whole: bool) -> list[str]:
    lines = []
    for stem, reason in (("drum", look.partly), ("view", look.ear_partly if whole else None)):
        if reason is not None:
            key = f"drawing.partly.{stem}"
            lines.append(say(f"{key}.why", reason=reason) if reason else say(key))
    return lines


def _not_drawn(look: Look, styles: Styles, marks: Marked) -> list[str]:
    said = []
    drawn = {"wax": styles.wax, "canal": styles.canal, "drum": styles.drum}
    for stem in ("view", *_MAIN, *_OTHER):
        state = look.states.get(stem)
        shown = drawn.get(stem, "")
        if stem == "view" and state and state.answer:
            shown = next((p for s, p in drawn.items() if p == _pattern(state.answer) and _borrowed(look, s)), "")
        if state and state.answer and shown != _pattern(state.answer):
            said.append(say(f"drawing.is.{state.answer}", what=_part(look, stem)))
    seen = look.states.get("drum-view")
    if seen and styles.drum == "dotted":
        said.append(say("drawing.drum-seen"))
    said += [_fact(fact) for fact in marks.left_out]
    return said + look.left_out


def _borrowed(look: Look, stem: str) -> bool:
    """Whether nothing is said of the part itself, so that it is drawn by what is said of the ear."""
    own = ("drum", "drum-view") if stem == "drum" else (stem,)
    return not any(key in look.states for key in own)


def _pattern(answer: str) -> str:
    return {"normal": "plain", "not-seen": "hatched", "not-examined": "outlined"}[answer]


def _listed(things: list[str]) -> str:
    return ", ".join(things)
