"""One language of the library: phrases looked up whole, slots filled, never half a sentence."""

from __future__ import annotations

from collections.abc import Mapping

from aftercare.model import COUNTS, Catalogue, Library, Line, Phrase, Piece, Span
from aftercare.word.counted import SOURCE_RULE, form_for


class Translator:
    """Looks phrases up in one catalogue and remembers which contexts it had nothing for."""

    def __init__(self, library: Library, language: str) -> None:
        self.language = language
        self.missing: set[str] = set()
        self._source = language == library.source_language
        self._catalogue: Catalogue | None = library.catalogues.get(language)
        self.direction = self._catalogue.direction if self._catalogue else "ltr"

    def line(self, context: str, phrase: Phrase, slots: Mapping[str, Span]) -> Line:
        """The phrase in this language with its slots filled."""
        words, reviewer, rule = self._phrase(context, phrase)
        if words.others:
            numbers = {slot: slots[slot].text for slot in COUNTS & slots.keys()}
            words = form_for(words, rule, numbers)
        spans = tuple(
            _filled(slots[piece.text], strong=piece.strong)
            if piece.slot
            else Span(piece.text, strong=piece.strong)
            for piece in words.pieces
        )
        return Line(spans, context, self._source or reviewer is not None, reviewer)

    def text(self, context: str, source: str) -> Line:
        """A short text of the clinic's own, such as its hours, in this language."""
        return self.line(context, Phrase(source, (Piece(source),)), {})

    def _phrase(self, context: str, phrase: Phrase) -> tuple[Phrase, str | None, str]:
        """The words to use, who stands behind their translation, and the rule of their forms."""
        if self._source:
            return phrase, None, SOURCE_RULE
        catalogue = self._catalogue
        found = catalogue.phrases.get((context, phrase.source)) if catalogue else None
        if found is None or catalogue is None:
            self.missing.add(context)
            return phrase, None, SOURCE_RULE
        return found.phrase, found.approved_by, catalogue.plural


def _filled(span: Span, *, strong: bool) -> Span:
    return Span(span.text, span.role, strong) if strong else span
