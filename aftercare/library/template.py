"""The template: what translators are asked for, a PO file that changes with the words alone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from aftercare.library.po import Entry, Key, read_po, write_po

TEMPLATE = "locales/aftercare.pot"
CREATED = "POT-Creation-Date"
# A text with slots is one that GNU gettext can check the slots of.
BRACES = "python-brace-format"
_SLOT = re.compile(r"\{\w+\}")
_HEADER = {
    "Project-Id-Version": "aftercare",
    CREATED: "",
    "PO-Revision-Date": "YEAR-MO-DA HO:MI+ZONE",
    "Last-Translator": "FULL NAME <EMAIL@ADDRESS>",
    "Language-Team": "LANGUAGE <LL@li.org>",
    "MIME-Version": "1.0",
    "Content-Type": "text/plain; charset=utf-8",
    "Content-Transfer-Encoding": "8bit",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A sentence on the shelf that needs a translation, where it stands and how it is used.

    ``plural`` is the same sentence for other numbers than one, where it tells a number.
    """

    file: str
    line: int
    context: str
    msgid: str
    said: str
    plural: str | None = None


def template(asked: Iterable[Asked], old: bytes | None, today: date) -> bytes:
    """The template of these sentences, each once, in the order they are met.

    Its date stays that of the ``old`` template as long as the sentences and what is said of
    them stay the same. Raises ``BadContent`` when the old one cannot be read.
    """
    entries = tuple(_entries(asked))
    before = None if old is None else read_po(TEMPLATE, old)
    header = before.header if before and before.header else _new_header()
    if before is None or _said(before.active()) != _said(entries):
        header = with_field(header, CREATED, f"{today} 00:00+0000")
    return write_po(header, entries)


def _new_header() -> Entry:
    fields = "".join(f"{name}: {value}\n" for name, value in _HEADER.items())
    comments = ("What is to be translated for aftercare.", "")
    return Entry("", "", (fields,), comments=comments, flags=("fuzzy",))


def _entries(asked: Iterable[Asked]) -> Iterator[Entry]:
    found: dict[Key, list[Asked]] = {}
    for one in asked:
        found.setdefault((one.context, one.msgid), []).append(one)
    for (context, msgid), uses in found.items():
        yield Entry(
            context,
            msgid,
            msgstrs=("",) if uses[0].plural is None else ("", ""),
            plural=uses[0].plural,
            extracted=tuple(dict.fromkeys(one.said for one in uses)),
            places=tuple(f"{one.file}:{one.line}" for one in uses),
            flags=(BRACES,) if _SLOT.search(msgid + (uses[0].plural or "")) else (),
        )


def _said(entries: Iterable[Entry]) -> list[tuple[Key, str]]:
    """What a date stands for; another writer may have broken comments into lines."""
    return [(entry.key, " ".join(" ".join(entry.extracted).split())) for entry in entries]


def with_field(header: Entry, name: str, value: str) -> Entry:
    """A header with one of its fields set, where it stood or at the end."""
    lines = [line for line in header.msgstr.split("\n") if line]
    at = next((n for n, line in enumerate(lines) if line.startswith(f"{name}:")), len(lines))
    lines[at : at + 1] = [f"{name}: {value}"]
    return replace(header, msgstrs=("".join(f"{line}\n" for line in lines),))
