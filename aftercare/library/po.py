"""The PO format of GNU gettext: text to entries and back, every fault with its line.

The reader keeps all there is of an entry (comments, places, flags, what it was, whether it is
obsolete), so that what is written again has lost nothing. Source: GNU gettext manual, section
"The Format of PO Files".
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial

from aftercare.errors import BadContent
from aftercare.library.blocks import decode

CATALOGUE_BYTES = 4_194_304
FUZZY, EARLIER = "fuzzy", "earlier translation: "
_REMEDY = "check it with msgfmt -c"
_LINE = re.compile(
    r"\s*(?:(msgctxt|msgid_plural|msgid|msgstr(?:\[\d\])?)\s*)?\"((?:[^\"\\]|\\.)*)\"\s*"
)
_OBSOLETE, _PREVIOUS = re.compile(r"#~\s?"), "#|"
_MARKS = frozenset({"#.", "#:", "#,", _PREVIOUS})
_ESCAPE = re.compile(r"\\(.)")
_MEANT = {"n": "\n", "t": "\t", "r": "\r", '"': '"', "\\": "\\"}
_WRITTEN = str.maketrans({"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"})
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a catalogue. ``msgstrs`` holds one text, or one for each plural form.

    ``line`` is where its source stands, 1-based; 0 for one that was never in a file.
    ``previous`` are the lines after ``#|``: the source that a fuzzy translation was made for.
    """

    context: str
    msgid: str
    msgstrs: tuple[str, ...] = ("",)
    plural: str | None = None
    comments: tuple[str, ...] = ()
    extracted: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    previous: tuple[str, ...] = ()
    obsolete: bool = False
    line: int = field(default=0, compare=False)

    @property
    def key(self) -> Key:
        """What a translation is found by; where it tells a number, both its forms with a NUL."""
        if self.plural is None:
            return self.context, self.msgid
        return self.context, f"{self.msgid}\0{self.plural}"

    @property
    def place(self) -> Key:
        """What a file may hold once: GNU gettext does not look at the other form."""
        return self.context, self.msgid

    @property
    def msgstr(self) -> str:
        """The translation; the first form of a plural."""
        return self.msgstrs[0]

    @property
    def fuzzy(self) -> bool:
        """Whether somebody has to look at it before it counts."""
        return FUZZY in self.flags

    @property
    def usable(self) -> bool:
        """Whether it may be read to a patient once somebody approves it."""
        return bool(self.msgid and self.whole) and not (self.fuzzy or self.obsolete)

    @property
    def whole(self) -> bool:
        """Whether it is translated, in every form it has."""
        return all(self.msgstrs)


def source_of(key: Key) -> str:
    """The source of a key as people read it: both forms where it tells a number."""
    return key[1].replace("\0", " / ")


def id_of(key: Key) -> str:
    """What people call a sentence by: its block, and a mark of its words."""
    return f"{key[0]}#{hashlib.sha256(chr(0).join(key).encode()).hexdigest()[:8]}"


@dataclass(frozen=True, slots=True)
class Po:
    """A catalogue file: its header, its entries in order, and what could not be read of it."""

    place: str
    header: Entry | None
    entries: tuple[Entry, ...]
    faults: tuple[BadContent, ...]

    def active(self) -> Iterator[Entry]:
        """The entries that are not obsolete."""
        return (entry for entry in self.entries if not entry.obsolete)

    def field(self, name: str) -> str | None:
        """A field of the header, such as ``Language``; None if it is not there."""
        for line in self.header.msgstr.split("\n") if self.header else ():
            key, colon, value = line.partition(":")
            if colon and key.strip().lower() == name.lower():
                return value.strip()
        return None


# --- reading ------------------------------------------------------------------------------


def read_po(place: str, raw: bytes) -> Po:
    """What can be read of a PO file; an entry that cannot is left out and told of by its line.

    Raises ``BadContent`` for bytes that are no text, or too many.
    """
    reader = _Reader(place)
    text = decode(place, raw, CATALOGUE_BYTES)
    for number, line in enumerate(text.split("\n"), 1):
        reader.take(number, line)
    reader.finish()
    if text and not text.endswith("\n"):
        reader.fault(text.count("\n") + 1, "the file ends in the middle of a line")
    return Po(place, reader.header, tuple(reader.entries), tuple(reader.faults))


class _Reader:
    """Gathers the lines of one entry after the other."""

    def __init__(self, place: str) -> None:
        self.place = place
        self.header: Entry | None = None
        self.entries: list[Entry] = []
        self.faults: list[BadContent] = []
        self._known: set[Key] = set()
        self._fresh()

    def fault(self, line: int, problem: str, remedy: str = _REMEDY) -> None:
        """Something is wrong on a line."""
        self.faults.append(BadContent(f"{self.place}:{line}", problem, remedy))

    def _fresh(self) -> None:
        self._told: dict[str, list[str]] = {}
        self._texts: dict[str, list[str]] = {}
        self._last = ""
        self._line = self._source_line = 0
        self._obsolete = self._spoiled = False

    def take(self, number: int, line: str) -> None:
        """The next line of the file."""
        if line.startswith("#"):
            self._comment(number, line)
        elif line and not line.isspace():
            self._words(number, line, obsolete=False)

    def _comment(self, number: int, line: str) -> None:
        if line.startswith("#~"):
            old = line[_end(_OBSOLETE, line) :]
            if old.startswith("|"):
                self._begin_if_done()
                self._told.setdefault(_PREVIOUS, []).append(old[1:].strip())
            else:
                self._words(number, old, obsolete=True)
            return
        self._begin_if_done()
        mark = line[:2] if line[:2] in _MARKS else "#"
        self._told.setdefault(mark, []).append(line[len(mark) :].removeprefix(" ").rstrip())

    def _begin_if_done(self) -> None:
        """A comment after a translation belongs to the next entry."""
        if self._texts:
            self.finish()

    def _words(self, number: int, line: str, *, obsolete: bool) -> None:
        found = _LINE.fullmatch(line)
        if found is None:
            self.fault(number, "not a line of a PO file")
            self._spoil()
            return
        keyword = found[1]
        if keyword is not None:
            self._begin(number, keyword)
            self._obsolete = obsolete
        elif not self._last:
            self.fault(number, "not a usable PO file (text before any msgid)")
            return
        self._texts[self._last].append(self._text(number, found[2]))

    def _spoil(self) -> None:
        """A line that cannot be read costs the entry it is in, not the one before it."""
        if any(keyword.startswith("msgstr") for keyword in self._texts):
            self.finish()
        self._spoiled = bool(self._texts)

    def _begin(self, number: int, keyword: str) -> None:
        begins = keyword == "msgctxt" or (keyword == "msgid" and self._last != "msgctxt")
        if begins and self._texts:
            self.finish()
        if keyword in self._texts:
            self.fault(number, f"not a usable PO file ({keyword} twice in one entry)")
            self._spoiled = True
        self._line = self._line or number
        if keyword == "msgid":
            self._source_line = number
        self._last = keyword
        self._texts[keyword] = []

    def _text(self, number: int, written: str) -> str:
        if "\\" not in written:
            return written
        strange = next((e for e in _ESCAPE.findall(written) if e not in _MEANT), None)
        if strange is not None:
            self.fault(number, f"not a usable PO file (the escape \\{strange})")
            self._spoiled = True
        return _ESCAPE.sub(lambda escape: _MEANT.get(escape[1], escape[0]), written)

    def finish(self) -> None:
        """The entry gathered so far is whole."""
        if self._texts and not self._spoiled:
            self._add(self._source_line or self._line)
        self._fresh()

    def _add(self, line: int) -> None:
        texts = {keyword: "".join(parts) for keyword, parts in self._texts.items()}
        lacking = _lacking(texts)
        if lacking:
            self.fault(line, f"not a usable PO file (missing {lacking})")
            return
        entry = self._entry(texts, line)
        if entry.context and not entry.msgid:
            what = "not a usable PO file (an empty source in a block)"
            self.fault(line, what, "write its source, or take the entry out")
        elif entry.obsolete:
            self.entries.append(entry)
        elif entry.place in self._known:
            what = "the same source twice in one block" if entry.msgid else "a second header"
            self.fault(line, f"not a usable PO file ({what})", "keep one of them")
        else:
            self._known.add(entry.place)
            if entry.msgid:
                self.entries.append(entry)
            else:
                self.header = entry

    def _entry(self, texts: dict[str, str], line: int) -> Entry:
        told = self._told
        return Entry(
            context=texts.get("msgctxt", ""),
            msgid=texts["msgid"],
            msgstrs=_translations(texts),
            plural=texts.get("msgid_plural"),
            comments=tuple(told.get("#", ())),
            extracted=tuple(told.get("#.", ())),
            places=tuple(" ".join(told.get("#:", ())).split()),
            flags=_flags(told["#,"]) if "#," in told else (),
            previous=tuple(told.get(_PREVIOUS, ())),
            obsolete=self._obsolete,
            line=line,
        )


def _flags(listed: Iterable[str]) -> tuple[str, ...]:
    return tuple(flag.strip() for one in listed for flag in one.split(",") if flag.strip())


def _lacking(texts: dict[str, str]) -> str | None:
    """The part an entry needs and has not."""
    if "msgid" not in texts:
        return "msgid"
    if "msgid_plural" not in texts:
        return None if "msgstr" in texts else "msgstr"
    many = max(1, sum(keyword.startswith("msgstr[") for keyword in texts))
    wanted = (f"msgstr[{number}]" for number in range(many))
    return next((keyword for keyword in wanted if keyword not in texts), None)


def _translations(texts: dict[str, str]) -> tuple[str, ...]:
    """The translation, or its plural forms: they are numbered 0 to 9, in any order in the file."""
    if "msgid_plural" not in texts:
        return (texts["msgstr"],)
    return tuple(texts[key] for key in sorted(texts) if key.startswith("msgstr["))


def _end(pattern: re.Pattern[str], text: str) -> int:
    found = pattern.match(text)
    return found.end() if found else 0


# --- writing ------------------------------------------------------------------------------


def write_po(header: Entry, entries: Iterable[Entry]) -> bytes:
    """A PO file in UTF-8: the header, what is in use, then what is obsolete, each in order.

    GNU gettext takes a source once, in use or obsolete. Of several the first is kept, one in use
    before any obsolete; what else there was for it stays as a comment.
    """
    kept: dict[Key, Entry] = {}
    for entry in sorted(entries, key=lambda one: one.obsolete):
        first = kept.get(entry.place)
        kept[entry.place] = entry if first is None else _beside(first, entry)
    ordered = (header, *kept.values())
    return "\n".join("\n".join(_written(entry)) + "\n" for entry in ordered).encode()


def _beside(first: Entry, other: Entry) -> Entry:
    """An entry that remembers another translation of its source, and what was said of that."""
    told = [f"{EARLIER}{text.translate(_WRITTEN)}" for text in other.msgstrs if text]
    earlier = [] if other.msgstrs == first.msgstrs else told
    comments = dict.fromkeys((*first.comments, *other.comments, *earlier))
    return replace(first, comments=tuple(comments))


def _written(entry: Entry) -> Iterator[str]:
    yield from (f"# {comment}".rstrip() for comment in entry.comments)
    mark = "#~ " if entry.obsolete else ""
    if not entry.obsolete:
        yield from (f"#. {comment}".rstrip() for comment in entry.extracted)
        if entry.places:
            yield f"#: {' '.join(entry.places)}"
    elif entry.previous:
        # Not every program can read "#~|", and one that cannot loses the next entry.
        yield from (f"# made for: {line}" for line in entry.previous)
    if entry.flags:
        yield f"#, {', '.join(entry.flags)}"
    if not entry.obsolete:
        yield from (f"{_PREVIOUS} {line}" for line in entry.previous)
    yield from (mark + line for line in _texts(entry))


def _texts(entry: Entry) -> Iterator[str]:
    if entry.context:
        yield from quoted("msgctxt", entry.context)
    yield from quoted("msgid", entry.msgid)
    if entry.plural is None:
        yield from quoted("msgstr", entry.msgstr)
    else:
        yield from quoted("msgid_plural", entry.plural)
        for number, text in enumerate(entry.msgstrs):
            yield from quoted(f"msgstr[{number}]", text)


def quoted(keyword: str, text: str) -> Iterator[str]:
    """A text as a PO file holds it: on one line, or a line for each of its own."""
    if "\n" not in text:
        yield f'{keyword} "{text.translate(_WRITTEN)}"'
        return
    yield f'{keyword} ""'
    for line in re.split(r"(?<=\n)", text):
        if line:
            yield f'"{line.translate(_WRITTEN)}"'


def unquoted(lines: Iterable[str]) -> dict[str, str]:
    """The texts of lines such as follow ``#|``, by keyword; what cannot be read is left out."""
    found: dict[str, str] = {}
    last = ""
    for match in filter(None, map(partial(re.fullmatch, _LINE), lines)):
        last = match[1] or last
        if last:
            told = _ESCAPE.sub(lambda escape: _MEANT.get(escape[1], escape[0]), match[2])
            found[last] = found.get(last, "") + told
    return found
