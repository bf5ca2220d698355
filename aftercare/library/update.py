"""A catalogue brought into step with the shelf: no translation is lost, and no stale one is used.

A sentence whose words have changed keeps its old translation as fuzzy, which never reaches a
patient, beside the words it was made for. What is asked no longer is kept as obsolete, and comes
back, approval and all, when the old words do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from aftercare.errors import BadContent
from aftercare.library.catalogues import forms_of
from aftercare.library.plurals import plural_forms, read_forms
from aftercare.library.po import FUZZY, Entry, Key, Po, quoted, read_po, write_po
from aftercare.library.template import CREATED, with_field

# A sentence with this share of its words in common is the same one reworded (proposed).
ALIKE = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class Updated:
    """A catalogue in step with the template, and what became of its sentences.

    ``stale`` have a translation of other words; ``new`` have none; ``back`` had been obsolete;
    ``gone`` are asked no longer.
    """

    raw: bytes
    kept: int
    stale: tuple[Key, ...]
    new: tuple[Key, ...]
    back: tuple[Key, ...]
    gone: tuple[Key, ...]


def update(language: str, place: str, raw: bytes | None, asked: Po) -> Updated:
    """The catalogue with an entry for each sentence of a template, in its order.

    ``raw`` is None for a language that has no catalogue yet. Raises ``BadContent`` with every
    fault of a catalogue that cannot be read whole, since what was not read would be lost.
    """
    ours = _readable(language, place, raw)
    forms = (forms_of(ours) if ours.header else None) or read_forms(plural_forms(language))
    merge = _Merge(ours, asked, forms.many if forms else 1)
    entries = [merge.entry(entry) for entry in asked.active()]
    kept = [*entries, *merge.obsolete()]
    header = ours.header or new_header(language, asked)
    created = asked.field(CREATED)
    return Updated(
        raw=write_po(with_field(header, CREATED, created) if created else header, kept),
        kept=len(entries) - len(merge.stale) - len(merge.new) - len(merge.back),
        stale=tuple(merge.stale),
        new=tuple(merge.new),
        back=tuple(merge.back),
        gone=tuple(entry.key for entry in merge.left if any(entry.msgstrs)),
    )


def _readable(language: str, place: str, raw: bytes | None) -> Po:
    ours = Po(place, None, (), ()) if raw is None else read_po(place, raw)
    if ours.faults:
        listed = "".join(f"\n  {fault}" for fault in ours.faults)
        raise BadContent(place, f"cannot be read whole:{listed}", "mend it first; nothing changed")
    return ours


def new_header(language: str, asked: Po) -> Entry:
    """The header of a language's first catalogue."""
    fields = {
        "Project-Id-Version": asked.field("Project-Id-Version") or "aftercare",
        CREATED: asked.field(CREATED) or "",
        "PO-Revision-Date": "YEAR-MO-DA HO:MI+ZONE",
        "Last-Translator": "FULL NAME <EMAIL@ADDRESS>",
        "Language-Team": language,
        "Language": language,
        "MIME-Version": "1.0",
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
        "Plural-Forms": plural_forms(language),
    }
    said = "".join(f"{name}: {value}\n" for name, value in fields.items())
    note = "Not for patients until a named reviewer approves each sentence."
    return Entry("", "", (said,), comments=(f"Translations of aftercare: {language}.", note))


class _Merge:
    """Finds for each sentence that is asked what there is of it already.

    ``many`` is how many plural forms the language has.
    """

    def __init__(self, ours: Po, asked: Po, many: int) -> None:
        self._many = many
        wanted = {entry.key for entry in asked.active()}
        self._active = {entry.key: entry for entry in ours.active()}
        self._old = [entry for entry in ours.entries if entry.obsolete]
        self.left = [entry for key, entry in self._active.items() if key not in wanted]
        self.stale: list[Key] = []
        self.new: list[Key] = []
        self.back: list[Key] = []

    def entry(self, asked: Entry) -> Entry:
        """The sentence as asked, with the translation there is for it."""
        if asked.plural is not None:
            asked = replace(asked, msgstrs=("",) * self._many)
        ours = self._active.get(asked.key)
        if ours is not None and any(ours.msgstrs):
            return _with(asked, ours)
        revived = next((o for o in self._old if o.key == asked.key and any(o.msgstrs)), None)
        if revived is not None:
            self._old.remove(revived)
            self.back.append(asked.key)
            return _with(asked, revived)
        reworded = self._reworded(asked)
        if reworded is not None:
            self.stale.append(asked.key)
            return _doubtful(asked, reworded)
        self.new.append(asked.key)
        return asked if ours is None else _with(asked, ours)

    def _reworded(self, asked: Entry) -> Entry | None:
        """A translation made for words like these, of the same block or else to the letter."""
        near = [
            (_alike(asked.msgid, entry.msgid), entry)
            for entry in (*self.left, *self._old)
            if entry.context == asked.context and any(entry.msgstrs)
        ]
        best = max(near, key=lambda one: one[0], default=None)
        if best is not None and best[0] >= ALIKE:
            return best[1]
        elsewhere = (*self._active.values(), *self._old)
        sure = (entry for entry in elsewhere if entry.whole and not entry.fuzzy)
        return next((entry for entry in sure if entry.key[1] == asked.key[1]), None)

    def obsolete(self) -> Iterator[Entry]:
        """What is asked no longer, the latest first; only what nobody has worked on goes."""
        for entry in (*self.left, *self._old):
            if any(entry.msgstrs) or entry.comments:
                yield replace(entry, obsolete=True, extracted=(), places=())


def _with(asked: Entry, ours: Entry) -> Entry:
    """What is asked now, with what we had: translation, translators' comments, and its doubts."""
    doubt = (FUZZY,) if ours.fuzzy else ()
    return replace(
        asked,
        msgstrs=_fitted(ours.msgstrs, len(asked.msgstrs)),
        comments=ours.comments,
        flags=(*doubt, *(flag for flag in asked.flags if flag != FUZZY)),
        previous=ours.previous if ours.fuzzy else (),
        line=ours.line,
    )


def _fitted(texts: tuple[str, ...], many: int) -> tuple[str, ...]:
    """As many forms as are asked for; those there are, and empty ones for those that lack.

    More than are asked for stay, where several are: somebody has worked on them.
    """
    if many == 1:
        # A sentence that tells no number any more: the form for many is the nearest to it.
        return (next(filter(None, reversed(texts)), ""),)
    return (*texts, *("",) * (many - len(texts)))


def _doubtful(asked: Entry, reworded: Entry) -> Entry:
    """A translation of other words: fuzzy, with the words it was made for."""
    carried = _with(asked, reworded)
    made_for = (*quoted("msgctxt", reworded.context), *quoted("msgid", reworded.msgid))
    if reworded.plural is not None:
        made_for += tuple(quoted("msgid_plural", reworded.plural))
    return replace(
        carried,
        flags=(FUZZY, *(flag for flag in carried.flags if flag != FUZZY)),
        previous=carried.previous or made_for,
    )


def _alike(one: str, other: str) -> float:
    return SequenceMatcher(None, one.lower().split(), other.lower().split()).ratio()
