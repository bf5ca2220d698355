"""A catalogue that goes to a translator and comes back: merged sentence by sentence.

Each sentence that leaves carries a mark of how it stood. When it comes back, the mark tells who
has changed it since. Ours is never overwritten where we have.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from aftercare.errors import BadContent, BadInput
from aftercare.library.po import FUZZY, Entry, Key, Po, write_po

_MARK = "as sent: "


class Fate(StrEnum):
    """What became of a sentence that came back."""

    TAKEN = "taken"
    DOUBTFUL = "taken as fuzzy"
    SAME = "same as ours"
    OURS_NEWER = "changed here alone"
    CONFLICT = "changed on both sides"
    NOT_ASKED = "not asked any more"
    EMPTY = "came back empty"


@dataclass(frozen=True, slots=True)
class Came:
    """A sentence that came back, the line it stood on, what became of it, and why if refused."""

    key: Key
    line: int
    fate: Fate
    why: str = ""


@dataclass(frozen=True, slots=True)
class Returned:
    """Our catalogue with what could be taken, and the fate of every sentence that came."""

    raw: bytes
    came: tuple[Came, ...]

    def of(self, fate: Fate) -> list[Came]:
        """Those with one fate, in the order they came."""
        return [one for one in self.came if one.fate is fate]


def state_mark(entry: Entry) -> str:
    """A mark of a sentence, its translation, and whether that is in doubt."""
    told = (*entry.key, *entry.msgstrs, FUZZY if entry.fuzzy else "")
    return hashlib.sha256("\0".join(told).encode()).hexdigest()[:16]


def as_sent(mark: str) -> str:
    """How a sentence that leaves tells its mark."""
    return f"{_MARK}{mark}"


def to_send(ours: Po, header: Entry, said: Mapping[Key, Sequence[str]]) -> bytes:
    """The catalogue for a translator: each sentence with what is said of it, and its mark."""
    return write_po(header, (_sent(entry, said.get(entry.key, ())) for entry in ours.entries))


def _sent(entry: Entry, said: Sequence[str]) -> Entry:
    if entry.obsolete:
        return entry
    told = (*_unmarked(entry), *said, as_sent(state_mark(entry)))
    return replace(entry, extracted=told)


def _unmarked(entry: Entry) -> Iterator[str]:
    return (line for line in entry.extracted if not line.startswith(_MARK))


def _sent_as(entry: Entry) -> str | None:
    """How the sentence stood when it left, if the translator's program has kept the mark."""
    marks = (line[len(_MARK) :].strip() for line in entry.extracted if line.startswith(_MARK))
    return next(marks, None)


def take_back(
    language: str, ours: Po, theirs: Po, refused: Callable[[Entry], str | None]
) -> Returned:
    """Our catalogue with the sentences that came back changed and that we have left alone.

    ``refused`` says why a translation can be read to nobody; it is then taken as fuzzy. Raises
    ``BadInput`` for a file that is no whole catalogue of the language.
    """
    check_language(language, theirs)
    if theirs.faults:
        raise BadInput(theirs.place, _listed(theirs.faults), "mend them, then import it again")
    if ours.faults:
        raise BadContent(ours.place, _listed(ours.faults), "mend them first")
    if ours.header is None:
        raise BadContent(f"{ours.place}:1", "no header", "'aftercare locales update' writes one")
    merged = {entry.key: entry for entry in ours.active()}
    obsolete = [entry for entry in ours.entries if entry.obsolete]
    came = []
    for entry in theirs.active():
        here, why = merged.get(entry.key), ""
        fate = _fate(here, entry)
        if here is not None and fate is Fate.TAKEN:
            why = "" if entry.fuzzy else refused(entry) or ""
            merged[entry.key] = taken = _taken(here, entry, doubtful=bool(why))
            fate = Fate.DOUBTFUL if taken.fuzzy else fate
        elif fate is Fate.NOT_ASKED and _is_news(entry, ours):
            obsolete.append(replace(entry, obsolete=True, extracted=(), places=()))
        came.append(Came(entry.key, entry.line, fate, why))
    return Returned(write_po(ours.header, (*merged.values(), *obsolete)), tuple(came))


def _listed(faults: Sequence[BadContent]) -> str:
    return "cannot be read whole:" + "".join(f"\n  {fault}" for fault in faults)


def check_language(language: str, theirs: Po) -> None:
    """Raises ``BadInput`` unless a file says that it is a catalogue of this language."""
    said = theirs.field("Language")
    if theirs.header is None or said is None:
        raise BadInput(
            f"{theirs.place}:1", "not a catalogue: no header that names a language",
            f"its header needs a line with Language: {language}",
        )  # fmt: skip
    if said.replace("-", "_") != language:
        raise BadInput(
            f"{theirs.place}:{theirs.header.line}", f"a catalogue of '{said[:20]}', not {language}",
            "import it for its own language, or correct its header",
        )  # fmt: skip


def _fate(ours: Entry | None, theirs: Entry) -> Fate:
    if not any(text.strip() for text in theirs.msgstrs):
        return Fate.EMPTY
    if ours is None:
        return Fate.NOT_ASKED
    here, there = state_mark(ours), state_mark(theirs)
    if here == there:
        return Fate.SAME
    if not any(ours.msgstrs) or _sent_as(theirs) == here:
        return Fate.TAKEN
    return Fate.OURS_NEWER if _sent_as(theirs) == there else Fate.CONFLICT


def _is_news(entry: Entry, ours: Po) -> bool:
    """Whether we do not have this translation of it, not even as obsolete."""
    return all((e.key, e.msgstrs) != (entry.key, entry.msgstrs) for e in ours.entries)


def _taken(ours: Entry, theirs: Entry, *, doubtful: bool) -> Entry:
    doubt = doubtful or theirs.fuzzy
    plain = tuple(flag for flag in ours.flags if flag != FUZZY)
    return replace(
        ours,
        msgstrs=theirs.msgstrs,
        comments=tuple(dict.fromkeys((*ours.comments, *theirs.comments))),
        flags=(FUZZY, *plain) if doubt else plain,
        previous=ours.previous if doubt else (),
    )
