"""The one line a reader gets in their own language when the message cannot be in it."""

from __future__ import annotations

from dataclasses import replace

from aftercare.model import Case, Fact, Help, Library, Line, Side
from aftercare.word.slots import Slots
from aftercare.word.translate import Translator

FRAME = "frame"
HELP, BY_TEXT, BY_EMAIL = "help_in_language", "help_in_language_text", "help_in_language_email"


def help_line(
    case: Case, facts: frozenset[Fact], library: Library, *, language: str
) -> Help | None:
    """How this patient gets help in ``language``, by a route they can use; None without words.

    Whether somebody has approved the line is written on it: that is for the gate to judge.
    """
    phrase = library.frame.texts.get(_key(facts))
    if phrase is None:
        return None
    translator = Translator(library, language)
    # READ lets the line hold the clinic's names and the route alone, so no hours are needed.
    no_hours = Line((), FRAME, approved=True)
    slots = Slots(case, library, language=language, hours=no_hours, recall=None)
    line = translator.line(FRAME, phrase, slots.of(Side.BOTH))
    if translator.missing:
        return None
    return Help(replace(line, language=language), translator.direction)


def _key(facts: frozenset[Fact]) -> str:
    """Whoever cannot use speech over a phone is never told to ring (rule 12)."""
    if "speech:phone" in facts:
        return HELP
    return BY_TEXT if "reply:text" in facts else BY_EMAIL
