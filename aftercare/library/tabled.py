"""A translator's table that came back: each row as if it had come in a catalogue.

A table program does more to a file than its user: it may guess an alphabet, or guard a cell.
What can be told from what we sent is refused with its row, before anything is taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from contextlib import suppress

from aftercare.errors import BadInput
from aftercare.library.po import Entry, Key, Po, id_of, source_of
from aftercare.library.returned import as_sent

# What a row must have; a table may have other columns, which are for reading.
COLUMNS = ("id", "source", "translation", "language", "as sent")
FORMS = " / "
# What a table program may take for a formula at the start of a cell (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
# What programs take UTF-8 for when nobody says.
_GUESSES = ("cp1252", "cp1250", "latin-1")
_AS_UTF8 = "save it as CSV in UTF-8, from the table as it was sent"
# A question mark that may stand for a letter a program did not know.
_LOST = r"(?:[^\x00-\x7f]|\?)"
_MARKED = "mark-"
Row = tuple[int, Mapping[str, str]]


def plain(cell: str) -> str:
    """A cell that stays text in a table program: an apostrophe leads what might be a formula."""
    return f"'{cell}" if cell.lstrip(" \u00a0").startswith(_FORMULA) else cell


def mark_cell(mark: str) -> str:
    """The mark of how a sentence stood, as a cell that no table program takes for a number."""
    return f"{_MARKED}{mark}"


def from_cell(cell: str) -> str:
    """What a cell says, without the apostrophe that kept it text."""
    return cell[1:] if cell.startswith("'") and plain(cell[1:]) == cell else cell


def shown(entry: Entry) -> str:
    """A translation as a cell tells it; where a number is told, each form that is there."""
    return FORMS.join(filter(None, entry.msgstrs))


def from_table(place: str, rows: Iterable[Row], ours: Po) -> Po:
    """The catalogue that the rows of a table stand for; ``ours`` is the one it was made from.

    Each row is its line and its cells by column. Raises ``BadInput`` with the row whose columns do
    not belong together, that comes twice, or whose letters a program has spoilt.
    """
    known = {id_of(entry.key): entry for entry in ours.active()}
    entries: dict[str, Entry] = {}
    said: dict[str, int] = {}
    for line, cells in rows:
        at = f"{place}:{line}"
        if cells["id"] in entries:
            raise BadInput(at, f"'{cells['id'][:60]}' comes twice", "keep one of the rows")
        said.setdefault(cells["language"], line)
        entries[cells["id"]] = _entry(at, line, cells, known.get(cells["id"]))
    if len(said) > 1:
        line = max(said.values())
        raise BadInput(f"{place}:{line}", "another language than the rows above", "import it apart")
    header = (Entry("", "", (f"Language: {one}\n",), line=line) for one, line in said.items())
    return Po(place, next(header, None), tuple(entries.values()), ())


def _entry(at: str, line: int, cells: Mapping[str, str], ours: Entry | None) -> Entry:
    key = _key(at, cells, ours)
    told = from_cell(cells["translation"])
    sent = (as_sent(cells["as sent"].removeprefix(_MARKED)),)
    if ours is not None and _tidy(told) == _tidy(shown(ours)):
        return Entry(
            *_words(key), ours.msgstrs, extracted=sent, flags=ours.flags, line=line,
            plural=ours.plural,
        )  # fmt: skip
    if ours is not None:
        _refuse_spoilt(at, told, shown(ours))
    msgid, plural = key[1].partition("\0")[::2]
    texts = (told,) if not plural else tuple(told.split(FORMS))
    if plural and told and ours is not None and len(texts) != len(ours.msgstrs):
        problem = f"{len(texts)} forms of a sentence that tells a number"
        raise BadInput(at, problem, f"write all {len(ours.msgstrs)}, with '{FORMS}' between them")
    return Entry(key[0], msgid, texts, plural or None, extracted=sent, line=line)


def _words(key: Key) -> tuple[str, str]:
    return key[0], key[1].partition("\0")[0]


def _key(at: str, cells: Mapping[str, str], ours: Entry | None) -> Key:
    """The sentence of a row. Its id holds a mark of its words, so they are known to be its own."""
    source = from_cell(cells["source"])
    if ours is not None and _tidy(source) == _tidy(source_of(ours.key)):
        return ours.key
    context = cells["id"].rpartition("#")[0]
    for words in (source, source.replace(FORMS, "\0", 1)):
        if id_of((context, words)) == cells["id"]:
            return context, words
    raise BadInput(
        at, "the source is not the one of this id", "leave the columns id and source as they came"
    )


def _tidy(text: str) -> str:
    return " ".join(text.split())


def _refuse_spoilt(at: str, told: str, ours: str) -> None:
    """Raises ``BadInput`` for ours with letters lost, or read in another set of letters."""
    lost = "".join(_LOST if char == "?" else re.escape(char) for char in told)
    if "?" in told and re.fullmatch(lost, ours, re.DOTALL):
        raise BadInput(at, "letters have become question marks", _AS_UTF8)
    for guess in _GUESSES:
        with suppress(UnicodeError):
            if told.encode(guess).decode("utf-8") == ours:
                raise BadInput(at, "letters were read in another set of letters", _AS_UTF8)
