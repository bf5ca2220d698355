"""What holds of everything a shelf can say in one language, in texts and on pages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from aftercare.choose import choose
from aftercare.model import Block, Channel, Kind, Library, Role
from aftercare.proof.contradictions import Contradiction, contradictions
from aftercare.proof.editing import Finding
from aftercare.proof.hardest import Hardest, hardest
from aftercare.proof.pages import Pages, Paper, pages
from aftercare.proof.programme import LooseProgramme, Programme
from aftercare.proof.reach import Reach
from aftercare.proof.reading import prove_language
from aftercare.proof.shelf import example, first_line
from aftercare.proof.space import Asked, Condition
from aftercare.proof.spoken import PAGES, TEXTS, Speech
from aftercare.proof.texts import Texts, texts
from aftercare.proof.witness import case_of
from aftercare.proof.wordings import PAGE
from aftercare.rules import Act


@dataclass(frozen=True, slots=True, kw_only=True)
class OfRecord:
    """A rule that what was recorded breaks, whatever the words: release holds the message."""

    rule: str
    why: str
    patients: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LanguageCheck:
    """One language: how hard and how long it can get, and for whom; and what was found."""

    language: str
    hardest: Hardest | None
    texts: Texts
    pages: Pages
    groups: int
    held: tuple[OfRecord, ...]
    findings: tuple[Finding, ...]


def check_language(reach: Reach, language: str, paper: Paper, today: date) -> LanguageCheck:
    """Everything that is proved of one language, or found wanting."""
    library = reach.library
    # A programme of its own for each question: what one has added makes the next one slower.
    page = next(one for one in prove_language(library, language) if one.form == PAGE)
    written = Speech(reach, language, PAGES)
    length = texts(Speech(reach, language, TEXTS), Programme(library), LooseProgramme(library))
    texted = Speech(reach, language, TEXTS, length.droppable)
    broken = [one for speech in (written, texted) for one in contradictions(speech)]
    printed = pages(written, LooseProgramme(library), paper, today)
    hard = hardest(page, Programme(library), library.blocks, LooseProgramme(library))
    return LanguageCheck(
        language=language,
        hardest=hard,
        texts=length,
        pages=printed,
        groups=sum(one.groups for one in (written, texted)),
        held=tuple(_held(broken, reach)),
        findings=(
            *_untranslated(library, language),
            *_without_help(written, reach),
            *_without_help(texted, reach),
            *_contradictory(broken, reach, language),
            *_too_long(length, library, language),
            *printed.findings,
            *otherwise(_cases(hard, length, printed), reach, language),
        ),
    )


# --- the cases that are told ----------------------------------------------------------------


def _cases(hard: Hardest | None, length: Texts, printed: Pages) -> Iterator[frozenset[Asked]]:
    """The patients an editor is told of as the worst there are."""
    yield from (one.held for one in (hard, length.whole, length.vital, *printed.sizes) if one)


def otherwise(cases: Iterable[frozenset[Asked]], reach: Reach, language: str) -> Iterator[Finding]:
    """What the real path says otherwise of a patient than the proof: then the proof is wrong.

    The order of blocks on the shelf changes nothing, and each has a reason to be told or not.
    """
    for held in cases:
        if held:
            yield from _walked(held, reach, language)


def _walked(held: frozenset[Asked], reach: Reach, language: str) -> Iterator[Finding]:
    library = reach.library
    case = case_of(held, language, library.region.checked)
    choice = choose(case, library)
    turned = choose(case, replace(library, blocks=library.blocks[::-1]))
    here = reach.space.just(held)
    told = {(one.block.id, one.side) for one in reach.tellings if (one.who & here).satisfiable()}
    wrong = {
        "the proof and the real path tell it different blocks": told
        != {(one.block.id, one.side) for one in choice.chosen},
        "another order of blocks on the shelf changes it": choice != turned,
        "a block has no reason to be told or left out": not (
            all(one.because for one in choice.chosen) and all(o.because for o in choice.omitted)
        ),
    }
    for problem in (problem for problem, is_so in wrong.items() if is_so):
        yield Finding(
            block="shelf", file="content", language=language, problem=problem,
            help="report it as a fault of aftercare", case=tuple(map(str, sorted(held))),
        )  # fmt: skip


# --- contradictions -----------------------------------------------------------------------


def _held(broken: Iterable[Contradiction], reach: Reach) -> Iterator[OfRecord]:
    found: dict[str, Contradiction] = {}
    for one in broken:
        if one.of_record:
            known = found.get(one.rule.name)
            found[one.rule.name] = replace(known, who=known.who | one.who) if known else one
    for name, one in found.items():
        yield OfRecord(rule=name, why=one.why, patients=reach.space.count(one.who))


def _contradictory(
    broken: Iterable[Contradiction], reach: Reach, language: str
) -> Iterator[Finding]:
    """Each rule once for the blocks that break it, with everybody they break it for."""
    found: dict[tuple[object, ...], Contradiction] = {}
    for one in broken:
        if not one.of_record:
            key = (one.rule.name, one.channels, tuple(b.id for b in _blocks(one, reach)))
            known = found.get(key)
            found[key] = replace(known, who=known.who | one.who) if known else one
    for one in found.values():
        blocks = _blocks(one, reach)
        places = " and ".join(map(first_line, blocks)) or "content"
        act = "stops it" if one.act is Act.BLOCK else "is told to the clinician"
        yield Finding(
            block=blocks[0].id if blocks else "shelf",
            file=places,
            language=language,
            problem=f"{_on(one.channels)}: {one.rule.name} (rule {one.rule.row}, {act}): {one.why}",
            help=f"mend the words, or bar one of them with 'not_for'; {one.rule.source}",
            **example(reach, one.who),
        )


def _blocks(one: Contradiction, reach: Reach) -> list[Block]:
    """The blocks that break it: whose line does by itself, or those its reason names."""
    said = [one.block] if one.block else one.why.replace(",", " ").split()
    return [block for block in reach.blocks if block.id in said]


def _on(channels: Sequence[Channel]) -> str:
    return " and ".join(channels)


# --- what must be there -------------------------------------------------------------------


def _without_help(speech: Speech, reach: Reach) -> Iterator[Finding]:
    """Law 2: urgent signs, a number of the region's to ring or text, a way to the clinic."""
    region = speech.library.region
    silent = speech.space.holds("speech:no-phone")
    rung = _tells(speech, Kind.URGENT, region.emergency_number)
    texted = _tells(speech, Kind.URGENT, region.emergency_text_number) & silent
    asked = {
        "urgent signs": _tells(speech, Kind.URGENT, None),
        f"emergency number of {region.code}": rung | texted,
        "way to contact the clinic": _tells(speech, Kind.CONTACT, None),
    }
    for what, who in asked.items():
        lacking = speech.everybody & ~who
        if speech.space.anybody_fits(lacking):
            yield Finding(
                block="shelf", file="content", language=speech.language,
                problem=f"{_on(speech.channels)}: some patients are told no {what}",
                help="write a block for them: release withholds the message",
                **example(reach, lacking),
            )  # fmt: skip


def _tells(speech: Speech, kind: Kind, number: str | None) -> Condition:
    """Who is told a line of a kind, and in it this number if one is given."""
    return speech.space.any_of(
        one.who
        for one in speech.lines
        if one.told.kind is kind
        and (
            number is None
            or any(s.role is Role.PHONE and s.text == number for s in one.told.line.spans)
        )
    )


def _untranslated(library: Library, language: str) -> Iterator[Finding]:
    """Words a language has no translation for: whoever is told them is told in the source."""
    if language == library.source_language:
        return
    known = library.catalogues[language].phrases
    wanted = [
        (block.id, variant.phrase.source)
        for block in library.shelf
        for unit in block.units()
        for variant in unit.variants
    ]
    wanted += [("frame", phrase.msgid) for phrase in library.frame.texts.values()]
    lacking: dict[str, int] = {}
    for context, msgid in wanted:
        if (context, msgid) not in known:
            lacking[context] = lacking.get(context, 0) + 1
    for context, many in lacking.items():
        yield Finding(
            block=context, file=f"locales/{language}/LC_MESSAGES/aftercare.po", language=language,
            problem=f"{many} of its phrases have no translation",
            help="whoever is told them is written to in the source language",
        )  # fmt: skip


def _too_long(length: Texts, library: Library, language: str) -> Iterator[Finding]:
    size = length.vital.size
    if not size.fits(library):
        yield Finding(
            block="shelf", file="content", language=language,
            problem=f"sms: {size.parts} parts, and only what is vital is left",
            help="shorten the urgent signs and the ways to reach the clinic",
            case=tuple(map(str, sorted(length.vital.held))),
        )  # fmt: skip
