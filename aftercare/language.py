"""Which language a message is in: the reader's own, one near it, or the source and one line.

A message is in one language. Where the reader's is not ready, it is in the source language, and
one line in theirs says that there is help in it, and how: the only words of another language a
message may hold, approved by themselves. What was done is told to the clinician.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from aftercare.errors import BadContent
from aftercare.library.fallback import base, chain
from aftercare.model import Case, Channel, Fact, Help, Library, Line, Purpose, Worded
from aftercare.rules.privacy import in_view
from aftercare.rules.translations import not_approved
from aftercare.word.help import help_line

INTERPRETER = "arrange an interpreter"


@dataclass(frozen=True, slots=True)
class Spoken:
    """The words of one message, and what the clinician is told when they are not in the
    reader's own language, or in a lesser catalogue of it than there is; None when all is well.
    ``near`` is noted, and no finding, where a catalogue of the language serves a territory too.
    """

    worded: Worded
    told: str | None = None
    near: str | None = None


class Languages:
    """The languages one reader may be written to in, each worded once.

    ``say`` words the visit in a language. Samples may hold translations nobody has approved.
    """

    def __init__(
        self,
        case: Case,
        facts: frozenset[Fact],
        library: Library,
        purpose: Purpose,
        say: Callable[[str], Worded],
    ) -> None:
        self._case, self._facts, self._library = case, facts, library
        self._purpose, self._say = purpose, say
        self._wanted, self._source = case.patient.language, library.source_language
        self._before_source = chain(self._wanted, self._source)[:-1]
        self._worded: dict[str, Worded | BadContent] = {}

    @cached_property
    def _source_words(self) -> Worded:
        return self._say(self._source)

    def first(self) -> Worded:
        """The words in the first language that has them all, whoever stands behind them."""
        for language in self._before_source:
            words = self._words(language) if language in self._library.catalogues else None
            if isinstance(words, Worded) and not words.missing:
                return words
        return self._source_words

    def spoken(self, channel: Channel, said: Callable[[Worded], Iterable[Line]]) -> Spoken:
        """The words for a channel; ``said`` are the lines of its message."""
        absent: list[str] = []
        why: list[str] = []
        for language in self._before_source:
            if language not in self._library.catalogues:
                absent.append(language)
                continue
            words = self._words(language)
            refused = [str(words)] if isinstance(words, BadContent) else self._unready(words, said)
            if isinstance(words, Worded) and not refused:
                # A language without a catalogue for its territory is read in its own: no finding.
                told = f"written in {language}, not {self._wanted}: {_listed(absent, why)}"
                near = f"words of the catalogue {language}: {_listed(absent, why)}"
                return Spoken(words, told if why else None, near if absent and not why else None)
            why += refused
        return self._in_source(channel, _listed(absent, why))

    def _words(self, language: str) -> Worded | BadContent:
        if language not in self._worded:
            try:
                self._worded[language] = self._say(language)
            except BadContent as unreadable:
                self._worded[language] = unreadable
        return self._worded[language]

    def _unready(self, words: Worded, said: Callable[[Worded], Iterable[Line]]) -> list[str]:
        if words.missing:
            return [f"translation ({words.language}) not usable: {', '.join(words.missing)}"]
        if self._purpose is Purpose.SAMPLE:
            return []
        return list(not_approved((*said(words), *words.frame.values()), words.language))

    def _in_source(self, channel: Channel, why: str) -> Spoken:
        words = self._source_words
        if base(self._wanted) == base(self._source):
            return Spoken(words)
        line, lacking = self._help(channel)
        told = f"written in {self._source}, not {self._wanted}: {why}"
        if line is None:
            return Spoken(words, f"{told}; no line in {self._wanted} ({lacking}): {INTERPRETER}")
        spoken = line.line.language
        told = f"{told}; one line in {spoken} says how to get help: {INTERPRETER}"
        return Spoken(replace(words, help=line), told)

    def _help(self, channel: Channel) -> tuple[Help | None, str]:
        """The line in the reader's language, or why this message goes without."""
        lacking = "there is none"
        for language in self._before_source:
            try:
                line = help_line(self._case, self._facts, self._library, language=language)
            except BadContent:
                continue  # told already, as the reason why the language is not ready
            faults = list(self._unfit(line, channel)) if line else []
            if line and not faults:
                return line, ""
            lacking = next(iter(faults), lacking)
        return None, lacking

    def _unfit(self, found: Help, channel: Channel) -> Iterator[str]:
        language = str(found.line.language)
        if self._purpose is Purpose.PATIENT and not found.line.approved:
            yield "it is not approved"
        if channel is Channel.SMS and "texts:detail" not in self._facts:
            listed = self._library.limits.lock_screen.get(language)
            if listed is None:
                yield f"shared/limits.toml lists no lock-screen words for {language}"
            else:
                yield from in_view(found.line.text, listed)


def _listed(absent: Sequence[str], why: Sequence[str]) -> str:
    no_catalogue = [f"there is no catalogue for {' or '.join(absent)}"] if absent else []
    return "; ".join((*no_catalogue, *why))
