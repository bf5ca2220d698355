"""What an editor has to look at: wordings over a limit, and advice nobody has answered."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from aftercare.model import Block, Fact, Library
from aftercare.proof.reading import Cost, Proved, over_limit
from aftercare.proof.stand_ins import stand_ins
from aftercare.proof.wordings import FRAME, PAGE, Wording, in_use, of_block, speaker
from aftercare.score.advice import Advice, AdviceLimits, Kind, Review, Standing, review
from aftercare.score.advice.page import one_line
from aftercare.score.languages import sentence_limit, word_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something an editor has to look at: where, what is wrong there, and what would help.

    ``file`` holds the words: the block's own, or the catalogue of their translation.
    ``case`` is what is recorded of one of the ``patients`` (combinations of facts) it is about.
    """

    block: str
    file: str
    language: str
    problem: str
    help: str
    patients: int = 0
    case: tuple[str, ...] = ()


def review_text(text: str, library: Library) -> Review:
    """What an editor of this clinic is told of an English text."""
    return review(
        text,
        glossary=library.glossary,
        plain_words=library.plain_words,
        limits=advice_limits(library),
    )


def advice_limits(library: Library) -> AdviceLimits:
    """Where advice begins in this clinic."""
    limits = library.limits
    return AdviceLimits(
        sentence_words=limits.sentence_words,
        actions=limits.actions,
        words_before_action=limits.words_before_action,
        paragraph_sentences=limits.paragraph_sentences,
        list_items=limits.list_items,
    )


def findings(library: Library, proved: Iterable[Proved]) -> Iterator[Finding]:
    """Messages that can be over a limit in any language, and open advice on any block in use."""
    places = {block.id: block.place for block in library.blocks} | {FRAME: library.frame.place}
    for one in proved:
        held = [*_not_proved(one, library)]
        if one.language == library.source_language:
            held += _hard_blocks(one, library)
        held += _long_sentences(one, library)
        for found in held:
            yield replace(found, file=_file(one.language, places[found.block], library))
    for blocks in (in_use(library), library.reminders):
        yield from _advised([_read(block, library) for block in blocks], library)


def _advised(shelf: Sequence[_Reviewed], library: Library) -> Iterator[Finding]:
    """Open advice on blocks that can meet in one message."""
    for reviewed in shelf:
        yield from _advice(reviewed, shelf, library)


def _file(language: str, place: str, library: Library) -> str:
    if language == library.source_language:
        return place
    return f"locales/{language}/LC_MESSAGES/aftercare.po"


def _not_proved(proved: Proved, library: Library) -> Iterator[Finding]:
    """A bound over the limit: some leaflet may be too hard, and its hardest part is named.

    A text message is too short for a grade of its own; its sentences are held by length.
    """
    if proved.form != PAGE or not (proved.formula and proved.hardest) or proved.bound is None:
        return
    limit = over_limit(proved.formula, proved.bound, library)
    if limit is not None:
        yield Finding(
            block=proved.hardest.wording.block,
            file="",
            language=proved.language,
            problem=f"{proved.form}: {proved.formula.title} can reach {proved.bound:.1f}, "
            f"limit {limit:g}; this is the hardest part",
            help="shorter sentences and shorter words in it, then check again",
        )


def _hard_blocks(proved: Proved, library: Library) -> Iterator[Finding]:
    """Every English block is held to the limit by itself, in each of its wordings."""
    for cost in proved.costs:
        if cost.wording.form == proved.form and proved.formula and cost.grade is not None:
            limit = over_limit(proved.formula, cost.grade, library)
            if limit is not None:
                yield _finding(
                    cost, proved, f"{proved.formula.title} {cost.grade:.1f}, limit {limit:g}",
                    "shorter sentences, shorter words",
                )  # fmt: skip


def _long_sentences(proved: Proved, library: Library) -> Iterator[Finding]:
    most, unit = sentence_limit(proved.language, library.limits), word_unit(proved.language)
    for cost in proved.costs:
        longest = cost.counts.longest_sentence
        if cost.wording.form == proved.form and longest > most:
            yield _finding(
                cost, proved, f"{longest} {unit}s in a sentence, limit {most}", "cut it in two"
            )


def _finding(cost: Cost, proved: Proved, problem: str, help_with: str) -> Finding:
    return Finding(
        block=cost.wording.block,
        file="",
        language=proved.language,
        problem=f"{proved.form}{_of(cost.wording.when)}: {problem}",
        help=help_with,
    )


def _of(when: Sequence[Fact]) -> str:
    return f" for {' '.join(when)}" if when else ""


# --- advice -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Reviewed:
    """A block and what there is to say of each of its wordings by itself."""

    block: Block
    said: tuple[tuple[Wording, tuple[Advice, ...]], ...]

    def explains(self, form: str) -> frozenset[str]:
        """The clinical terms that every wording of this form explains."""
        each = [
            {_key(one.words) for one in told if one.standing is Standing.SHOWN}
            for wording, told in self.said
            if wording.form == form
        ]
        return frozenset(set.intersection(*each)) if each else frozenset()


def _read(block: Block, library: Library) -> _Reviewed:
    language = library.source_language
    say = speaker(library, language, stand_ins(library, language, None)[0])
    return _Reviewed(
        block,
        tuple(
            (one, review_text("\n\n".join(line.text for line in one.lines), library).advice)
            for one in of_block(block, library, say)
        ),
    )


def _advice(reviewed: _Reviewed, shelf: Sequence[_Reviewed], library: Library) -> Iterator[Finding]:
    """Open advice on the words of a block; the same advice on several wordings is told once.

    A clinical term is explained if the page of a block that all the same patients get does so:
    a text has no room to, and leans on what was said at the visit. Its own form will do too.
    """
    block = reviewed.block
    along = [other for other in shelf if _comes_along(block, other.block)]
    met: dict[tuple[str, str], Advice] = {}
    for wording, told in reviewed.said:
        forms = {PAGE, wording.form}
        known = frozenset[str]().union(*(other.explains(form) for other in along for form in forms))
        for one in told:
            if one.standing is Standing.OPEN and not _explained(one, known):
                met.setdefault((one.kind.value, _key(one.words)), one)
    for problem, help_with in (*_open(block, met), *_in_vain(block, met.keys())):
        yield Finding(
            block=block.id,
            file=block.place,
            language=library.source_language,
            problem=problem,
            help=help_with,
        )


def _open(block: Block, met: Mapping[tuple[str, str], Advice]) -> Iterator[tuple[str, str]]:
    """Advice that is not accepted, with what would help."""
    kept = {(one.kind, _key(one.words)) for one in block.accepted}
    for key, one in met.items():
        if key not in kept:
            yield (
                f"{one.kind}: “{one_line(one.words)}”: {one.reason}",
                f"{one.help}; or accept it in the header with a reason",
            )


def _in_vain(block: Block, met: Collection[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Acceptances of advice that nobody gives, with what to do."""
    kinds = [kind.value for kind in Kind if kind is not Kind.STALE_ACCEPTANCE]
    for one in block.accepted:
        if one.kind not in kinds:
            yield (
                f"accepted “{one.kind[:40]}”: there is no such kind of advice",
                f"choose from {', '.join(kinds)}",
            )
        elif (one.kind, _key(one.words)) not in met:
            yield (
                f"accepted {one.kind} “{one.words}” fits nothing any more",
                "take it out of the header",
            )


def _key(words: str) -> str:
    """Words as an editor may have copied them: marks, blanks and case do not count."""
    return one_line(words.replace("*", "").replace("_", " ")).casefold()


def _explained(advice: Advice, known: Collection[str]) -> bool:
    """Whether a term is explained elsewhere, be it in the plural here or there."""
    term = _key(advice.words).removesuffix("s")
    return advice.kind is Kind.UNEXPLAINED_TERM and term in {o.removesuffix("s") for o in known}


def _comes_along(block: Block, other: Block) -> bool:
    """Whether whoever gets the one block gets the other too, by what each is given for."""
    mine, theirs = _by_group(block), _by_group(other)
    return (
        other is not block
        and not other.withheld_from
        and all(group in mine and mine[group] <= facts for group, facts in theirs.items())
    )


def _by_group(block: Block) -> dict[str, set[Fact]]:
    groups: dict[str, set[Fact]] = {}
    for fact in block.given_for:
        groups.setdefault(fact.partition(":")[0], set()).add(fact)
    return groups
