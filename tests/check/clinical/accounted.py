"""Where a clinical rule takes what is not written for a no, and why it may.

Everything else asks. A rule that is not named here must not do it; one that is named and does not do it is stale.
"""

_SIGN_AGAIN = "its gate asks for the sign; which of several made it matter is looked up once more"
_NOT_RAISED = (
    "looks at what the record says itself; what is not said is raised by no rule, or by the one named beside it"
)
_TWO_STATEMENTS = "two things that are written cannot both be true; what is not written contradicts nothing"
_NUMBER = "a number that is written is out of its range or step; one that is not written is in none"
_NUMBER_GATED = "one of several numbers is written, by its gate, and each is held against its range where it is written"
_DATES = "two dates that are written cannot both be true; a date that is not written contradicts nothing"
_SAID_SO = "looks only where the record says that consent was given, a caution stands or the like"

CONTRADICTS = {
    **dict.fromkeys(("C211", "C214", "C217", "C224", "C232"), _SIGN_AGAIN),
    **dict.fromkeys(("C205", "C225", "C226", "C227", "C229", "C230", "C266"), _NOT_RAISED),
    **dict.fromkeys(("C400", "C402", "C403", "C422", "C423", "C427", "C435", "C449"), _NUMBER),
    **dict.fromkeys(("C416", "C417", "C432", "C434"), _NUMBER_GATED),
    **dict.fromkeys(("C404", "C418", "C424", "C425", "C426", "C428", "C429", "C430", "C431"), _TWO_STATEMENTS),
    **dict.fromkeys(("C419", "C420", "C436", "C437", "C438", "C439", "C441", "C442", "C448"), _DATES),
    **dict.fromkeys(("C446", "C447", "C452", "C462", "C464", "C468", "C469", "C470", "C471"), _TWO_STATEMENTS),
    **dict.fromkeys(("C472", "C473", "C474", "C475", "C477", "C482", "C484", "C486", "C488", "C490"), _TWO_STATEMENTS),
    **dict.fromkeys(("C563", "C564", "C566", "C572", "C575", "C576", "C577", "C578"), _SAID_SO),
}
"""Rules that hold only where the record says something: it is quiet where that is not written."""

_MISSING = "its page says that it looks for what is not written"
_HOW = "tells of work whose particulars are not written"
_WITHOUT = "tells of one thing that is written without the other that belongs to it"

ASKS_WHAT_IS_MISSING = {
    **dict.fromkeys(("C259", "C262", "C265", "C345", "C458", "C497"), _HOW),
    **dict.fromkeys(("C466", "C479", "C480", "C483"), _WITHOUT),
    **dict.fromkeys(("C500", "C501", "C502", "C503", "C504", "C505", "C506", "C507", "C508", "C509"), _MISSING),
    **dict.fromkeys(("C510", "C511", "C512", "C513", "C514", "C515"), _MISSING),
    **dict.fromkeys(("C520", "C521", "C522", "C523", "C524", "C525", "C526"), _MISSING),
    **dict.fromkeys(("C530", "C531", "C532", "C533", "C534", "C535", "C536", "C537", "C538"), _MISSING),
    **dict.fromkeys(("C540", "C541", "C542", "C544", "C546", "C547", "C548", "C549"), _MISSING),
    **dict.fromkeys(("C550", "C551", "C553", "C555", "C556", "C557", "C558", "C559"), _MISSING),
    **dict.fromkeys(("C560", "C561", "C562", "C563", "C564", "C565", "C566", "C567", "C569"), _MISSING),
    **dict.fromkeys(("C570", "C572", "C573", "C574", "C575", "C576", "C578", "C579"), _MISSING),
}
"""Rules about what a record lacks: they fire where it is not written."""

_TOLD_BOTH_WAYS = "told both ways, it asks; with one of the two taken out, the other decides"
_OVERRULED = "something that is written overrules a sign; without it the sign stands"
_DEFAULT = "a field that a record leaves out has one meaning, which its schema says (air, unmasked, heard)"
_AT_THE_WORK = "a product of the work was put in at it, unless it is said to be for later"
_NOT_BEGUN = "work stands in the record with its method; that it was not begun has to be said"
_NO_MORE_OF_IT = "it adds up or compares a list that is written; a shorter list is another"

OTHERWISE = {
    **dict.fromkeys(("C201", "C244", "C306", "C489", "C523"), _TOLD_BOTH_WAYS),
    "C227": "a loss that is called sudden is open until the record says that it is older than 30 days",
    "C215": "its removal was complete beside the thing still there: without the latter it came out",
    **dict.fromkeys(("C220", "C223", "C226", "C229", "C240"), _OVERRULED),
    **dict.fromkeys(("C280", "C320", "C342"), _NOT_BEGUN),
    **dict.fromkeys(("C261", "C419"), _AT_THE_WORK),
    **dict.fromkeys(("C424", "C425", "C427", "C428"), _DEFAULT),
    **dict.fromkeys(("C429", "C444", "C494"), _NO_MORE_OF_IT),
    "C340": "advice that is written and says nothing of the care of the ears",
    "C344": "an aid of the ear is worn unless it is said that it is not",
    "C468": "denied of one place only; without the place it is denied of all",
    "C469": "work on the side that is complained of, without which only the other was worked on",
    "C474": "what is told of the ear that is referred, without which nothing is",
    "C552": "advice that is written and is marked as no safety net",
    "C554": "a plan that is written without a day",
}
"""Rules that turn by what is taken out in a way of their own."""
