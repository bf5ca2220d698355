"""How far a language has come: what is asked, what there is, and what stands in the way.

The checks see words, not meaning: a language without findings still needs its reviewer.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from aftercare.errors import AftercareError, BadContent
from aftercare.library.catalogues import (
    digest,
    direction,
    forms_of,
    header_faults,
    parse_translation,
)
from aftercare.library.plurals import Forms
from aftercare.library.po import Entry, Key, Po, id_of
from aftercare.model import COUNTS, Block, Fact, Kind, Library, Unit
from aftercare.word.checks import (
    Finding,
    Medium,
    Pair,
    Parts,
    Severity,
    Terms,
    check_pair,
    check_pairs,
)

# What hurts whoever gets it wrong.
SAFETY = frozenset({Kind.URGENT, Kind.CONTACT, Kind.WATER, Kind.CARE})
FRAME, CLINIC = "frame", "clinic"
_COUNTING = re.compile(rf"\{{(?:{'|'.join(sorted(COUNTS))})\}}")


class Where(StrEnum):
    """Where a sentence appears."""

    PAGE = "page"
    SMS = "sms"
    SMS_DETAIL = "sms_detail"
    SUBJECT = "subject"
    FRAME = "frame"
    HOURS = "hours"


@dataclass(frozen=True, slots=True)
class Use:
    """One place of a sentence: in a block of a kind for some readers, or a key of the frame."""

    where: Where
    kind: Kind | None = None
    when: frozenset[Fact] = frozenset()
    named: str = ""


@dataclass(frozen=True, slots=True)
class Sentence:
    """What a translator is asked for, once, with everywhere it is used."""

    key: Key
    uses: tuple[Use, ...]

    @property
    def id(self) -> str:
        """Its block, and a mark of its words."""
        return id_of(self.key)

    @property
    def sources(self) -> tuple[str, ...]:
        """Its words; of a sentence that tells a number those for one, and those for others."""
        return tuple(self.key[1].split("\0"))

    @property
    def medium(self) -> Medium:
        """A sentence that a text message may hold is held to what a text can carry."""
        texted = any(use.where in (Where.SMS, Where.SMS_DETAIL) for use in self.uses)
        return Medium.SMS if texted else Medium.ANY

    @property
    def safety(self) -> bool:
        """Whether a fault in it can hurt."""
        return any(use.kind in SAFETY for use in self.uses)


def sentences(library: Library) -> Mapping[Key, Sentence]:
    """Everything translators are asked for, in page order."""
    found: dict[Key, list[Use]] = {}
    for key, use in _uses(library):
        found.setdefault(key, []).append(use)
    return {key: Sentence(key, tuple(dict.fromkeys(uses))) for key, uses in found.items()}


def _uses(library: Library) -> Iterator[tuple[Key, Use]]:
    for name, phrase in library.frame.texts.items():
        yield (FRAME, phrase.msgid), Use(Where.FRAME, named=name)
    if isinstance(library.clinic.hours, str):
        yield (CLINIC, library.clinic.hours), Use(Where.HOURS, Kind.CONTACT)
    for block in library.shelf:
        for where, unit in units_of(block):
            for variant in unit.variants:
                yield (block.id, variant.phrase.source), Use(where, block.kind, variant.when)


def units_of(block: Block) -> Iterator[tuple[Where, Unit]]:
    """The units of a block with where each appears: the body's in order, then what is short."""
    for part in block.parts:
        yield from ((Where.PAGE, unit) for unit in part.units)
    for where, unit in (
        (Where.SMS, block.sms), (Where.SMS_DETAIL, block.sms_detail), (Where.SUBJECT, block.subject)
    ):  # fmt: skip
        if unit is not None:
            yield where, unit


# --- faults -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Something found in a catalogue; ``sentence`` is None for what concerns the whole file."""

    place: str
    sentence: Sentence | None
    found: Finding
    help: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """What the sentences of a catalogue are held against.

    ``parts`` counts the SMS parts of a text in a language; ``limit`` is how many one may have.
    """

    sentences: Mapping[Key, Sentence]
    parts: Parts
    limit: Parts
    glossaries: Mapping[str, Terms]

    def faults(self, language: str, po: Po) -> tuple[Fault, ...]:
        """Everything found in one catalogue: first the file, then sentence by sentence."""
        return (
            *(_of_file(fault) for fault in (*po.faults, *_header(language, po))),
            *self._out_of_step(po),
            *self._partly(po),
            *self._doubted(po),
            *self._unfit(po),
            *self._checked(language, po),
        )

    def _out_of_step(self, po: Po) -> Iterator[Fault]:
        """Sentences without a translation, and a file that is behind the shelf."""
        there = {entry.key for entry in po.active()}
        absent = [1] * len(self.sentences.keys() - there)
        gone = [entry.line for entry in po.active() if entry.key not in self.sentences]
        empty = [e.line for e in po.active() if e.key in self.sentences and not any(e.msgstrs)]
        for lines, what in (
            (absent, "of the shelf not in the file"),
            (gone, "in the file not on the shelf any more"),
            (empty, "without a translation yet"),
        ):
            if lines:
                remedy = "" if lines is empty else "run 'aftercare locales update'"
                finding = Finding("missing", Severity.WARN, f"{len(lines)} sentence(s) {what}")
                yield Fault(
                    place=f"{po.place}:{lines[0]}", sentence=None, found=finding, help=remedy
                )

    def _partly(self, po: Po) -> Iterator[Fault]:
        """Sentences that tell a number in some of their forms only."""
        for entry in po.active():
            lacking = [f"msgstr[{at}]" for at, text in enumerate(entry.msgstrs) if not text]
            sentence = self.sentences.get(entry.key)
            if sentence is not None and lacking and any(entry.msgstrs):
                why = f"{', '.join(lacking)} empty, so the sentence is read to nobody"
                yield Fault(
                    place=f"{po.place}:{entry.line}",
                    sentence=sentence,
                    found=Finding("missing", Severity.WARN, why),
                    help="write every form",
                )

    def _doubted(self, po: Po) -> Iterator[Fault]:
        for entry in po.active():
            sentence = self.sentences.get(entry.key)
            if entry.fuzzy and sentence is not None:
                why = "the source has changed since" if entry.previous else "marked as in doubt"
                severity = Severity.BLOCK if sentence.safety else Severity.WARN
                yield Fault(
                    place=f"{po.place}:{entry.line}",
                    sentence=sentence,
                    found=Finding("fuzzy", severity, f"{why}, so it is read to nobody"),
                    help="correct the translation, then take the mark 'fuzzy' away",
                )

    def _unfit(self, po: Po) -> Iterator[Fault]:
        """Translations that no shelf with them could be opened with."""
        forms = forms_of(po)
        for entry in self._usable(po):
            refused = refusal(po.place, entry, forms)
            if refused is not None:
                finding = Finding("unfit", Severity.BLOCK, refused.problem)
                sentence = self.sentences[entry.key]
                yield Fault(
                    place=refused.place, sentence=sentence, found=finding, help=refused.remedy
                )

    def _checked(self, language: str, po: Po) -> Iterator[Fault]:
        forms = forms_of(po)
        told = [
            (entry, pair)
            for entry in self._usable(po)
            for pair in self._pairs(language, entry.key, entry.msgstrs, forms)
        ]
        pairs = [pair for _, pair in told]
        found = check_pairs(pairs, parts=self.parts, glossaries=self.glossaries)
        for (entry, _), findings in zip(told, found, strict=True):
            for one in findings:
                yield Fault(
                    place=f"{po.place}:{entry.line}", sentence=self.sentences[entry.key], found=one
                )

    def _usable(self, po: Po) -> Sequence[Entry]:
        return [e for e in po.entries if e.usable and e.key in self.sentences]

    def stops(self, language: str, key: Key, targets: Sequence[str], plural: str) -> bool:
        """Whether something found in a translation stops it; nothing of what is asked no longer.

        ``targets`` is one text; where a number is told, one for each form of the rule ``plural``.
        """
        if key not in self.sentences:
            return False
        found = (
            one
            for pair in self._pairs(language, key, targets, Forms(len(targets), plural))
            for one in check_pair(pair, parts=self.parts, glossaries=self.glossaries)
        )
        return any(one.severity is Severity.BLOCK for one in found)

    def _pairs(
        self, language: str, key: Key, targets: Sequence[str], forms: Forms | None
    ) -> Iterator[Pair]:
        """A sentence of the shelf and each form of its translation, as the checks are asked."""
        sentence = self.sentences[key]
        for number, target in enumerate(targets):
            limit = self.limit(target) if sentence.medium is Medium.SMS else None
            only = forms.only(number) if forms else None
            yield Pair(
                id=sentence.id, source=_source(sentence, target, only), target=target,
                language=language, medium=sentence.medium, limit=limit,
            )  # fmt: skip


def _source(sentence: Sentence, target: str, only: int | None) -> str:
    """What a form of a translation is a translation of; ``only`` is the one number it is for.

    Where it leaves out the slot of its number, that number is asked for in words, or in a noun
    that says one or two by itself.
    """
    several = sentence.sources[-1]
    if only is None or _COUNTING.search(target):
        return several
    return _COUNTING.sub(str(only), several)


def refusal(place: str, entry: Entry, forms: Forms | None) -> AftercareError | None:
    """Why a translation cannot be read to anybody; None when it can.

    ``forms`` are the plural forms that the header of its catalogue names.
    """
    at = f"{place}:{entry.line}"
    try:
        parse_translation(at, entry, forms)
    except AftercareError as refused:
        return refused
    return None


def _header(language: str, po: Po) -> Iterator[AftercareError]:
    try:
        direction(language)
    except BadContent as unknown:
        yield unknown
        return
    yield from header_faults(language, po)


def _of_file(fault: AftercareError) -> Fault:
    finding = Finding("file", Severity.BLOCK, fault.problem)
    return Fault(place=fault.place, sentence=None, found=finding, help=fault.remedy)


# --- how far it has come ------------------------------------------------------------------


class State(StrEnum):
    """How far one sentence has come in one language."""

    MISSING = "missing"
    STALE = "stale"
    DOUBTED = "doubted"
    BLOCKED = "blocked"
    DRAFT = "draft"
    APPROVED = "approved"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One language: the state of each sentence, and what was found.

    A sentence that is blocked may have been approved before a check found something in it;
    ``reviewers`` says who stands behind which. ``unmatched`` is how many approvals are of words
    that are not in the file, in use or obsolete: somebody has changed them since.
    """

    language: str
    sentences: Mapping[Key, Sentence]
    states: Mapping[Key, State]
    reviewers: Mapping[Key, str]
    translations: Mapping[Key, Entry]
    faults: tuple[Fault, ...]
    unmatched: int = 0

    def of(self, *states: State) -> list[Key]:
        """The sentences in any of these states."""
        return [key for key, state in self.states.items() if state in states]

    @property
    def unreadable(self) -> bool:
        """Whether the file itself keeps the shelf from being opened or trusted."""
        return any(f.sentence is None and f.found.severity is Severity.BLOCK for f in self.faults)


def standing(language: str, po: Po, reviewers: Mapping[str, str], judge: Judge) -> Standing:
    """How far a catalogue has come; ``reviewers`` are those of its approvals, by digest."""
    faults = judge.faults(language, po)
    blocked = {
        fault.sentence.key
        for fault in faults
        if fault.sentence is not None and fault.found.severity is Severity.BLOCK
    }
    entries = {entry.key: entry for entry in po.active()}
    approved = {key: reviewers.get(_digest(entry)) for key, entry in entries.items()}
    by = {key: name for key, name in approved.items() if name and key in judge.sentences}
    return Standing(
        language=language,
        sentences=judge.sentences,
        states={
            key: _state(entries.get(key), blocked=key in blocked, approved=key in by)
            for key in judge.sentences
        },
        reviewers=by,
        translations={key: entries[key] for key in judge.sentences if key in entries},
        faults=faults,
        unmatched=len(reviewers.keys() - set(map(_digest, po.entries))) if reviewers else 0,
    )


def _digest(entry: Entry) -> str:
    # Blanks are told as the reader tells them: a line break of the file is none of the words.
    return digest(*entry.key, "\0".join(" ".join(text.split()) for text in entry.msgstrs))


def _state(entry: Entry | None, *, blocked: bool, approved: bool) -> State:
    if entry is None or not entry.whole:
        return State.MISSING
    if entry.fuzzy:
        return State.STALE if entry.previous else State.DOUBTED
    if blocked:
        return State.BLOCKED
    return State.APPROVED if approved else State.DRAFT
