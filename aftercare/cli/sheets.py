"""Sheets for a translator to read: each sentence beside its translation, with where it appears."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO

from aftercare.cli.catalogues import Bench, filled, judge, sms_counter
from aftercare.cli.sketch import WIDTH, drawings, place_of
from aftercare.library.catalogues import direction
from aftercare.library.po import Key, source_of
from aftercare.library.returned import state_mark
from aftercare.library.tabled import COLUMNS, mark_cell, plain, shown
from aftercare.model import Block, Fact, Library
from aftercare.proof.translated import Sentence, Standing, State, Use, Where
from aftercare.proof.withheld import Audience
from aftercare.word.checks import Medium

_SAID = {
    State.MISSING: "not translated",
    State.STALE: "stale: the source has changed",
    State.DOUBTED: "in doubt",
    State.BLOCKED: "a check stops it",
    State.DRAFT: "draft, not approved",
    State.APPROVED: "approved",
}
_COLUMNS = (
    "id", "where", "told to", "limit", "source", "translation", "state", "approved by", "findings",
    "language", "as sent",
)  # fmt: skip
# What a table that comes back may have besides what it must have.
FOR_READING = tuple(name for name in _COLUMNS if name not in COLUMNS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One sentence as a translator sees it."""

    key: Key
    id: str
    where: tuple[str, ...]
    picture: str
    told_to: str
    limit: str
    translation: str
    state: State
    said: str
    reviewer: str
    findings: tuple[str, ...]
    mark: str

    @property
    def source(self) -> str:
        """The words to translate; of a sentence that tells a number both forms."""
        return source_of(self.key)


def rows(bench: Bench, one: Standing, audience: Audience) -> tuple[Row, ...]:
    """Every sentence of the shelf with what there is of it in one language, in page order."""
    found: dict[Key, list[str]] = {}
    for fault in one.faults:
        if fault.sentence is not None:
            said = f"{fault.found.severity.value}: {fault.found.why}"
            found.setdefault(fault.sentence.key, []).append(said)
    tell = _Teller(bench, one, audience)
    return tuple(
        tell.row(sentence, tuple(found.get(key, ()))) for key, sentence in one.sentences.items()
    )


class _Teller:
    """Says of each sentence where it appears, to whom, and how long it may be."""

    def __init__(self, bench: Bench, one: Standing, audience: Audience) -> None:
        self._one, self._audience = one, audience
        self._library = bench.library
        self._blocks = {block.id: block for block in bench.library.shelf}
        self._parts = sms_counter(filled(bench.library, one.language))
        self._limit = judge(bench, one.language).limit

    def row(self, sentence: Sentence, findings: tuple[str, ...]) -> Row:
        key = sentence.key
        entry = self._one.translations.get(key)
        state = self._one.states[key]
        return Row(
            key=key,
            id=sentence.id,
            where=tuple(self._where(use) for use in sentence.uses),
            picture=place_of(sentence.uses[0]),
            told_to=self._told_to(sentence),
            limit=self._length(sentence, entry.msgstrs[-1] if entry else ""),
            translation=shown(entry) if entry else "",
            state=state,
            said=_SAID[state],
            reviewer=self._one.reviewers.get(key, ""),
            findings=findings,
            mark=mark_cell(state_mark(entry)) if entry else "",
        )

    def _where(self, use: Use) -> str:
        when = ", ".join(_label(fact, self._library) for fact in sorted(use.when))
        place = {
            Where.PAGE: f"page, {use.kind}",
            Where.SMS: f"text message, {use.kind} (may show on a locked screen)",
            Where.SMS_DETAIL: f"text message for those who asked for detail, {use.kind}",
            Where.SUBJECT: "subject of an e-mail (may show on a locked screen)",
            Where.FRAME: f"every message: {use.named}",
            Where.HOURS: "the clinic's hours, wherever they are told",
        }[use.where]
        return f"{place}; used when {when}" if when else place

    def _told_to(self, sentence: Sentence) -> str:
        block = self._blocks.get(sentence.key[0])
        if block and block.moments:
            return (
                f"{_for_whom(block, self._library)}, in recall messages: {', '.join(block.moments)}"
            )
        who = self._audience.worded.get(sentence.key)
        many = 0 if who is None else self._audience.count(who)
        share = self._audience.share(many)
        return f"{share}, {_for_whom(block, self._library)}" if block else share

    def _length(self, sentence: Sentence, text: str) -> str:
        if sentence.medium is not Medium.SMS:
            return ""
        if not text:
            return "a text message: keep it short"
        now = self._parts(text)
        allowed = f"of {self._limit(text)} for a whole message"
        return f"{now.units} units in {now.encoding}, {now.parts} part(s) {allowed}"


def _for_whom(block: Block, library: Library) -> str:
    given = " and ".join(_any_of(facts, library) for facts in _groups(block.given_for).values())
    barred = _any_of(block.withheld_from, library)
    return f"for {given or 'everyone'}{f'; never with {barred}' if barred else ''}"


def _groups(facts: Sequence[Fact]) -> Mapping[str, list[Fact]]:
    found: dict[str, list[Fact]] = {}
    for fact in facts:
        found.setdefault(fact.partition(":")[0], []).append(fact)
    return found


def _any_of(facts: Sequence[Fact], library: Library) -> str:
    return " or ".join(_label(fact, library) for fact in facts)


def _label(fact: Fact, library: Library) -> str:
    group, _, value = fact.partition(":")
    return library.facts[group].values.get(value, fact)


def said_to_translators(listed: Sequence[Row]) -> Mapping[Key, Sequence[str]]:
    """What the catalogue that is sent says of each sentence beside what it always says."""
    return {row.key: tuple(_said(row)) for row in listed}


def _said(row: Row) -> Iterator[str]:
    yield f"id: {row.id}"
    yield f"told to: {row.told_to}"
    if row.limit:
        yield f"length: {row.limit}"
    yield from (f"found: {finding}" for finding in row.findings)


# --- the two sheets -----------------------------------------------------------------------


def csv_sheet(language: str, listed: Sequence[Row]) -> bytes:
    """The sheet as a table, in UTF-8 with its mark; no cell can be taken for a formula."""
    out = StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(_COLUMNS)
    for row in listed:
        cells = (
            row.id, " / ".join(row.where), row.told_to, row.limit, row.source, row.translation,
            row.said, row.reviewer, " / ".join(row.findings), language, row.mark,
        )  # fmt: skip
        table.writerow([plain(cell) for cell in cells])
    return out.getvalue().encode("utf-8-sig")


def html_sheet(bench: Bench, language: str, listed: Sequence[Row]) -> bytes:
    """The sheet as one page that fetches nothing, every text of it escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    shelf = Environment(
        loader=PackageLoader("aftercare.cli"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    blocks: dict[str, list[Row]] = {}
    for row in listed:
        blocks.setdefault(row.key[0], []).append(row)
    page = shelf.get_template("sheet.html.j2").render(
        language=language,
        tag=language.replace("_", "-"),
        source_tag=bench.library.source_language,
        direction=direction(language),
        clinic=bench.library.clinic.name,
        edition=bench.library.fingerprint,
        blocks=blocks,
        drawings=drawings(),
        width=WIDTH,
        counts=[(said, sum(r.state is state for r in listed)) for state, said in _SAID.items()],
        total=len(listed),
    )
    return page.encode()
