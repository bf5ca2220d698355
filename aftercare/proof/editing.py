"""What an editor has to look at: wordings over a limit, and advice nobody has answered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from aftercare.errors import BadInput
from aftercare.model import AcceptedAdvice, Block, Fact, Library
from aftercare.proof.reading import Cost, Proved, costs, over_limit
from aftercare.proof.wordings import PAGE, of_block, speaker
from aftercare.score.advice import Accepted, Advice, AdviceLimits, Kind, Review, Standing, review


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something an editor has to look at: the block, what is wrong, and what would help."""

    block: str
    language: str
    problem: str
    help: str


def review_text(text: str, library: Library, accepted: Iterable[AcceptedAdvice] = ()) -> Review:
    """What an editor of this clinic is told of an English text.

    Raises ``BadInput`` for an acceptance of a kind that does not exist.
    """
    return review(
        text,
        glossary=library.glossary,
        plain_words=library.plain_words,
        limits=advice_limits(library),
        accepted=[_accepted(one) for one in accepted],
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


def _accepted(one: AcceptedAdvice) -> Accepted:
    try:
        return Accepted(Kind(one.kind), one.words, one.reason)
    except ValueError:
        known = ", ".join(kind.value for kind in Kind)
        raise BadInput(f"accepted '{one.kind}'", "no such kind of advice", known) from None


def findings(library: Library, proved: Iterable[Proved]) -> Iterator[Finding]:
    """Messages that can be over a limit in any language, and open advice on any block."""
    for one in proved:
        yield from _not_proved(one, library)
        if one.language == library.source_language:
            yield from _hard_blocks(one, library)
        yield from _long_sentences(one, library)
    for block in library.blocks:
        yield from _advice(block, library)


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
            language=proved.language,
            problem=f"{proved.form}: {proved.formula.title} can reach {proved.bound:.1f}, "
            f"limit {limit:g}; this is the hardest part",
            help="shorter sentences and shorter words in it, then check again",
        )


def _hard_blocks(proved: Proved, library: Library) -> Iterator[Finding]:
    """Every English block is held to the limit by itself, in each of its wordings."""
    for cost in costs(library, proved.language):
        if cost.wording.form == proved.form and proved.formula and cost.grade is not None:
            limit = over_limit(proved.formula, cost.grade, library)
            if limit is not None:
                yield _finding(
                    cost, proved, f"{proved.formula.title} {cost.grade:.1f}, limit {limit:g}",
                    "shorter sentences, shorter words",
                )  # fmt: skip


def _long_sentences(proved: Proved, library: Library) -> Iterator[Finding]:
    most = library.limits.sentence_words
    for cost in costs(library, proved.language):
        longest = cost.counts.longest_sentence
        if cost.wording.form == proved.form and longest > most:
            yield _finding(
                cost, proved, f"{longest} words in a sentence, limit {most}", "cut it in two"
            )


def _finding(cost: Cost, proved: Proved, problem: str, help_with: str) -> Finding:
    return Finding(
        block=cost.wording.block,
        language=proved.language,
        problem=f"{proved.form}{_of(cost.wording.when)}: {problem}",
        help=help_with,
    )


def _of(when: Sequence[Fact]) -> str:
    return f" for {' '.join(when)}" if when else ""


def _advice(block: Block, library: Library) -> Iterator[Finding]:
    """Open advice on the words of a block; the same advice on several wordings is told once.

    A clinical term that a block given to all the same patients explains is explained.
    """
    told: set[tuple[str, str]] = set()
    for advice in _of_wordings(block, _unexplained(block, library)):
        key = _key(advice.kind.value, advice.words)
        if advice.standing is Standing.OPEN and key not in told:
            told.add(key)
            yield from _unless_accepted(block, advice)
    for one in block.accepted:
        _accepted(one)
        if _key(one.kind, one.words) not in told:
            yield Finding(
                block=block.id,
                language=library.source_language,
                problem=f"accepted {one.kind} “{one.words}” fits nothing any more",
                help="take it out of the header",
            )


def _key(kind: str, words: str) -> tuple[str, str]:
    return kind, " ".join(words.casefold().split())


def _of_wordings(block: Block, library: Library) -> Iterator[Advice]:
    say = speaker(library, library.source_language)
    for wording in of_block(block, library, say):
        text = "\n\n".join(line.text for line in wording.lines)
        yield from review_text(text, library).advice


def _unexplained(block: Block, library: Library) -> Library:
    """The library with only those terms that no block which comes along explains."""
    along = (other for other in library.blocks if other is not block and _comes_along(block, other))
    known = {term for other in along for term in _explained(other, library)}
    left = {term: said for term, said in library.glossary.items() if term not in known}
    return replace(library, glossary=left)


def _comes_along(block: Block, other: Block) -> bool:
    """Whether whoever gets the one block gets the other too, by what each is given for."""
    mine, theirs = _by_group(block), _by_group(other)
    return not other.withheld_from and all(
        group in mine and mine[group] <= facts for group, facts in theirs.items()
    )


def _by_group(block: Block) -> dict[str, set[Fact]]:
    groups: dict[str, set[Fact]] = {}
    for fact in block.given_for:
        groups.setdefault(fact.partition(":")[0], set()).add(fact)
    return groups


def _explained(block: Block, library: Library) -> Iterator[str]:
    for advice in _of_wordings(block, library):
        if advice.standing is Standing.SHOWN:
            yield advice.words.casefold()


def _unless_accepted(block: Block, advice: Advice) -> Iterator[Finding]:
    if _key(advice.kind.value, advice.words) in {_key(o.kind, o.words) for o in block.accepted}:
        return
    yield Finding(
        block=block.id,
        language="en",
        problem=f"{advice.kind}: “{advice.words}”: {advice.reason}",
        help=f"{advice.help}; or accept it in the header with a reason",
    )
