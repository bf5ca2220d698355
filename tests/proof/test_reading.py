"""The bound on the hardest message: never broken, often attained, and claimed for few formulas."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import product
from math import inf

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from made_up import TODAY, FakePress, a_case, an_ear
from made_up_blocks import block
from strategies import cases

from aftercare import score_text
from aftercare.choose import patient_facts
from aftercare.errors import BadInput
from aftercare.flow import discharge
from aftercare.model import Case, Channel, Counts, Library, Message, Purpose, Side
from aftercare.proof import bound_of, held_to, over_limit, prove_reading
from aftercare.proof.reading import Proved, weight_of
from aftercare.proof.wordings import FRAME, PAGE, SMS, SMS_DETAIL
from aftercare.score import add, count_lines
from aftercare.score.english import ENGLISH_FORMULAS, FLESCH_KINCAID
from aftercare.score.formula import Formula, Scale
from aftercare.score.languages import SCORED, formulas, sentence_limit

Made = Callable[..., Library]
Choices = list[tuple[bool, list[Counts]]]
# No bound is claimed for these: a square root, and two counts per sentence.
WITHOUT = {"smog", "rix", "pisarek_non_linear"}
EVERY = (*ENGLISH_FORMULAS, *(one for code in sorted(SCORED) for one in formulas(code)))
BOUNDED = [one for one in EVERY if one.name not in WITHOUT]
ROUNDING = 1e-9


# --- what can be made of the parts ------------------------------------------------------


@st.composite
def counts(draw: st.DrawFn) -> Counts:
    """One wording's counts, as consistent as a text's."""
    sentences = draw(st.integers(1, 6))
    words = draw(st.integers(sentences, 40 * sentences))
    many = draw(st.integers(0, words))
    four = draw(st.integers(0, many))
    letters = draw(st.integers(words, 9 * words))
    return Counts(
        words=words,
        sentences=sentences,
        syllables=words + draw(st.integers(0, 2 * words)) + many,
        polysyllables=many,
        longest_sentence=words,
        monosyllables=draw(st.integers(0, words - many)),
        four_syllables=four,
        letters=letters,
        strokes=letters + draw(st.integers(0, words)),
        long_words=draw(st.integers(0, words)),
        complex_words=draw(st.integers(0, many)),
        unfamiliar_1948=draw(st.integers(0, words)),
        unfamiliar_1995=draw(st.integers(0, words)),
    )


def choices() -> st.SearchStrategy[Choices]:
    """Up to six blocks of up to three wordings, some of them for everybody."""
    one = st.tuples(st.booleans(), st.lists(counts(), min_size=1, max_size=3))
    return st.lists(one, min_size=1, max_size=6)


def everything_of(told: Choices) -> Iterator[Counts]:
    """Every sum of parts there is: one wording of each block, the optional ones or not."""
    each: list[Sequence[Counts | None]] = [
        said if always else [None, *said] for always, said in told
    ]
    for chosen in product(*each):
        parts = [one for one in chosen if one is not None]
        if parts:
            yield add(parts)


def turned(formula: Formula, value: float) -> float:
    """The value so that more is harder."""
    return -value if formula.scale is Scale.EASE else value


@pytest.mark.parametrize("formula", BOUNDED, ids=lambda formula: formula.name)
@given(told=choices())
@settings(max_examples=25, deadline=None)
def test_no_sum_of_parts_is_harder_than_its_bound(formula: Formula, told: Choices) -> None:
    bound = turned(formula, bound_of(formula, told))

    hardest = max(turned(formula, formula.compute(one)) for one in everything_of(told))

    event(f"attained: {hardest > bound - ROUNDING}")
    assert hardest <= bound + ROUNDING


@pytest.mark.parametrize("formula", BOUNDED, ids=lambda formula: formula.name)
@given(told=st.lists(counts(), min_size=1, max_size=4))
@settings(max_examples=15, deadline=None)
def test_the_bound_is_attained_where_there_is_nothing_to_choose(
    formula: Formula, told: list[Counts]
) -> None:
    whole = formula.compute(add(told))

    # One block, always there, alone: the bound is its grade, whatever its wordings.
    assert bound_of(formula, [(True, [add(told)])]) == pytest.approx(whole)
    # Blocks that may each come alone: the hardest of them alone.
    alone = [formula.compute(one) for one in told]
    hardest = min(alone) if formula.scale is Scale.EASE else max(alone)
    assert bound_of(formula, [(False, [one]) for one in told]) == pytest.approx(hardest)


@given(told=choices())
@settings(max_examples=100, deadline=None)
def test_what_is_always_there_lowers_the_bound_and_is_never_left_out_of_it(told: Choices) -> None:
    """Blocks for everybody can only be known better than blocks that may be left out."""
    optional = [(False, said) for _, said in told]

    assert bound_of(FLESCH_KINCAID, told) <= bound_of(FLESCH_KINCAID, optional) + ROUNDING


def test_easy_words_that_everybody_gets_are_set_against_hard_ones() -> None:
    easy = Counts(words=200, sentences=40, syllables=240)
    hard = Counts(words=20, sentences=1, syllables=40)

    bound = bound_of(FLESCH_KINCAID, [(True, [easy]), (False, [hard])])

    whole = FLESCH_KINCAID.compute(add([easy, hard]))
    assert bound == pytest.approx(whole, abs=0.05)
    assert bound < FLESCH_KINCAID.compute(hard) - 10


def test_among_the_wordings_of_a_block_the_hardest_is_taken() -> None:
    easy = Counts(words=50, sentences=10, syllables=55)
    hard = Counts(words=50, sentences=5, syllables=70)

    assert bound_of(FLESCH_KINCAID, [(True, [easy, hard])]) == bound_of(
        FLESCH_KINCAID, [(True, [hard])]
    )


# --- which formulas have a bound --------------------------------------------------------


def test_smog_and_what_else_is_no_weighted_sum_get_no_bound() -> None:
    assert {one.name for one in EVERY if weight_of(one) is None} == WITHOUT


@pytest.mark.parametrize(
    ("name", "weight"),
    [
        # The published constants of words per sentence; sources beside each formula.
        ("flesch", 1.015),
        ("flesch_kincaid", 0.39),
        ("gunning_fog", 0.4),
        ("ari", 0.5),
        ("lix", 1.0),
        ("fog_pl", 0.4),
        ("szigriszt_pazos", 1.0),
        ("atesman", 2.61),
        # Sentences per hundred words: nothing is left for words per sentence.
        ("coleman_liau", 0.0),
        ("gulpease", 0.0),
        ("forcast", 0.0),
    ],
)
def test_the_weight_of_a_formula_is_found_by_trying(name: str, weight: float) -> None:
    (formula,) = (one for one in EVERY if one.name == name)

    assert weight_of(formula) == pytest.approx(weight)


def test_a_formula_that_rewards_long_sentences_gets_no_bound() -> None:
    odd = replace(FLESCH_KINCAID, name="odd", compute=lambda c: 9 - c.words / c.sentences)

    assert weight_of(odd) is None


@pytest.mark.parametrize("name", sorted(WITHOUT))
def test_a_bound_is_refused_rather_than_guessed(name: str) -> None:
    (formula,) = (one for one in EVERY if one.name == name)

    with pytest.raises(BadInput, match=f"{name}: no bound is known"):
        bound_of(formula, [(True, [Counts(words=10, sentences=1, polysyllables=1)])])


def test_a_smog_bound_by_the_hardest_part_would_be_false() -> None:
    """Why SMOG is left out: a stem belongs to the next sentence, so parts do not add up."""
    (smog,) = (one for one in ENGLISH_FORMULAS if one.name == "smog")
    stem = Counts(words=9, sentences=1, stems=1, polysyllables=4)
    other = Counts(words=9, sentences=1, polysyllables=4)

    assert smog.compute(add([stem, other])) > max(smog.compute(stem), smog.compute(other))


def limited(library: Library, **limits: float) -> Library:
    return replace(library, limits=replace(library.limits, formulas=limits))


def test_a_language_is_held_to_its_first_limit_that_can_be_proved(library: Library) -> None:
    assert held_to("en", library) is FLESCH_KINCAID
    both = limited(library, smog=9, pisarek_non_linear=5, fog_pl=11)
    found = held_to("pl", both)
    assert found is not None
    assert found.name == "fog_pl"


@pytest.mark.parametrize("name", ["smog", "pisarek_non_linear", "flesch_kincaid", "nonsense"])
def test_a_language_with_no_limit_that_can_be_proved_is_held_to_none(
    name: str, library: Library
) -> None:
    assert held_to("pl", limited(library, **{name: 9})) is None
    assert held_to("ur", limited(library, **{name: 9})) is None


def test_a_limit_is_the_most_of_a_grade_and_the_least_of_an_ease(library: Library) -> None:
    held = limited(library, flesch_kincaid=6, flesch=60)
    (flesch,) = (one for one in ENGLISH_FORMULAS if one.name == "flesch")

    assert over_limit(FLESCH_KINCAID, 6.0, held) is None
    assert over_limit(FLESCH_KINCAID, 6.01, held) == 6
    assert over_limit(flesch, 60.0, held) is None
    assert over_limit(flesch, 59.9, held) == 60
    assert over_limit(flesch, inf, limited(library)) is None


# --- on the shelf -----------------------------------------------------------------------


@pytest.fixture(scope="session")
def proved(library: Library) -> dict[tuple[str, str], Proved]:
    return {(one.language, one.form): one for one in prove_reading(library)}


def message(library: Library, case: Case, channel: Channel) -> Message:
    """One message as it is counted, whether it may leave or not."""
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE, channels=[channel]
    )
    return done.messages[0]


def beyond(found: Message, bound: Proved) -> str | None:
    """What of a message is harder than was proved."""
    counts = count_lines(found.lines[1:] if found.sms else found.lines, found.language)
    if bound.longest is None or counts.longest_sentence > bound.longest.counts.longest_sentence:
        return f"a sentence of {counts.longest_sentence} words"
    if bound.formula and bound.bound is not None and counts.words:
        value = turned(bound.formula, bound.formula.compute(counts))
        if value > turned(bound.formula, bound.bound) + ROUNDING:
            return f"{bound.formula.name} {value:.3f}, not {bound.bound:.3f}"
    return None


@given(case=cases(("en", "pl", "ur")))
@settings(max_examples=150, deadline=None)
def test_no_page_is_harder_than_was_proved(
    library: Library, proved: dict[tuple[str, str], Proved], case: Case
) -> None:
    found = message(library, case, Channel.EMAIL)

    event(found.language)
    assert beyond(found, proved[found.language, PAGE]) is None


@given(case=cases(("en", "pl", "ur")))
@settings(max_examples=60, deadline=None)
def test_no_text_is_harder_than_was_proved(
    library: Library, proved: dict[tuple[str, str], Proved], case: Case
) -> None:
    case = replace(case, patient=replace(case.patient, mobile="07700 900123"))
    found = message(library, case, Channel.SMS)
    form = SMS_DETAIL if "texts:detail" in patient_facts(case, library) else SMS

    event(f"{form}, {'made' if found.sms else 'not made'}")
    if found.sms:
        assert beyond(found, proved[found.language, form]) is None


@pytest.mark.parametrize(
    ("language", "ear", "near"),
    [
        # The hardest of 1,500 random visits: 2.9 for 4.9 in English, 7.4 for 10.7 in Polish.
        ("en", ("condition:otitis-externa", "procedure:suction", "finding:cleared"), 2.5),
        ("pl", ("procedure:suction", "procedure:instruments", "finding:nothing-found"), 4.5),
    ],
)
def test_the_bound_of_the_shelf_is_no_distant_one(
    language: str,
    ear: tuple[str, ...],
    near: float,
    library: Library,
    proved: dict[tuple[str, str], Proved],
) -> None:
    reader = replace(a_case().patient, language=language)
    found = message(library, a_case(patient=reader, ears=(an_ear(*ear),)), Channel.EMAIL)
    bound = proved[language, PAGE]

    assert bound.formula is not None
    assert bound.bound is not None
    assert bound.hardest is not None
    assert bound.hardest.grade is not None
    value = bound.formula.compute(count_lines(found.lines, language))
    assert bound.bound - near < value <= bound.bound
    # That much the blocks for everybody are worth.
    assert bound.bound < bound.hardest.grade - 0.5


def test_what_was_proved_is_within_the_clinic_s_own_limits(
    library: Library, proved: dict[tuple[str, str], Proved]
) -> None:
    for one in proved.values():
        assert one.longest is not None
        most = sentence_limit(one.language, library.limits)
        assert one.longest.counts.longest_sentence <= most
        if one.formula and one.form == PAGE:
            assert one.bound is not None
            assert over_limit(one.formula, one.bound, library) is None
    # A language without a limit of its own has its longest sentence held, and no grade.
    held = {one.language: one.formula.name for one in proved.values() if one.formula}
    assert held == {
        "en": "flesch_kincaid", "pl": "fog_pl", "es": "szigriszt_pazos", "pt": "martins",
        "fr": "kandel_moles_207", "de": "wiener_sachtextformel_1",
    }  # fmt: skip
    assert {one.language for one in proved.values()} == {"en", *library.catalogues}


# --- shelves made to break it -----------------------------------------------------------

EASY = "Sit. Rest. Eat. Sleep. Walk. Talk. Sing. Read. Call us. Ask us. " * 3
HARD = "Administer prescribed antibiotic medication following individualised instructions daily."


def page(library: Library) -> Proved:
    return next(one for one in prove_reading(library) if one.form == PAGE)


def made_page(library: Library, **changes: object) -> Message:
    return message(library, a_case(**changes), Channel.EMAIL)


def test_a_block_for_everybody_counts_in_every_page(shelf_of: Made) -> None:
    hard = block("hard", HARD, given="condition:wax")

    with_easy = page(shelf_of(block("easy", EASY), hard)).bound
    without = page(shelf_of(block("easy", EASY, given="condition:grommet"), hard)).bound

    assert with_easy is not None
    assert without is not None
    assert with_easy < without


@pytest.mark.parametrize("key", ["given", "withheld"])
def test_a_block_that_somebody_does_not_get_is_never_taken_for_granted(
    key: str, shelf_of: Made
) -> None:
    easy = block("easy", EASY, **{key: "condition:grommet"})
    library = shelf_of(easy, block("hard", HARD, given="condition:wax"))
    facts = ("condition:wax", "procedure:suction") + (
        ("condition:grommet",) if key == "withheld" else ()
    )

    found = made_page(library, ears=(an_ear(*facts),))

    assert {one.block.id for one in found.chosen} == {"hard"}
    assert beyond(found, page(library)) is None
    assert beyond(found, page(shelf_of(block("easy", EASY), block("hard", HARD)))) is not None


def test_a_retired_block_is_neither_counted_nor_taken_for_granted(shelf_of: Made) -> None:
    hard = block("hard", HARD, given="condition:wax")
    library = shelf_of(block("easy", EASY, state="retired"), hard)

    assert page(library).bound == page(shelf_of(hard)).bound
    assert all(cost.wording.block != "easy" for one in prove_reading(library) for cost in one.costs)


def test_a_block_with_a_wording_of_no_words_is_never_taken_for_granted(shelf_of: Made) -> None:
    """Some get the easy words and others a number alone: those have nothing easy to read."""
    easy = block("easy", f"[reader:self] {EASY}\n\n[reader:parent] {{clinic_phone}}\n")
    library = shelf_of(easy, block("hard", HARD, given="condition:wax"))
    parent = replace(a_case().patient, facts=frozenset({"age:child"}))

    assert beyond(made_page(library, patient=parent), page(library)) is None
    assert beyond(made_page(library), page(library)) is None


def test_two_ears_with_a_length_get_the_block_twice_and_the_bound_knows(shelf_of: Made) -> None:
    told = " ".join([HARD] * 2)
    body = f"[side:left] {told}\n\n[side:right] {told}\n\n[side:both] {told}\n"
    library = shelf_of(block("easy", EASY), block("length", body, given="length:noted"))
    ears = tuple(
        an_ear("condition:wax", "procedure:suction", side=side, removed_mm=12)
        for side in (Side.LEFT, Side.RIGHT)
    )

    twice = made_page(library, ears=ears)
    once = made_page(library, ears=ears[:1])

    assert [one.block.id for one in twice.chosen].count("length") == 2
    assert beyond(twice, page(library)) is None
    first, second = (FLESCH_KINCAID.compute(count_lines(m.lines, "en")) for m in (once, twice))
    assert second > first + 1
    bound = page(library).bound
    assert bound is not None
    assert bound == pytest.approx(second, abs=1.0)


def test_both_ears_may_need_longer_words_than_one(shelf_of: Made) -> None:
    body = f"[side:left] {EASY}\n\n[side:right] {EASY}\n\n[side:both] {HARD}\n"
    library = shelf_of(block("sides", body, given="condition:wax"))
    ears = tuple(
        an_ear("condition:wax", "procedure:suction", side=side) for side in (Side.LEFT, Side.RIGHT)
    )

    assert beyond(made_page(library, ears=ears), page(library)) is None
    assert page(library).hardest is not None
    assert page(library).hardest.wording.when == ("side:both",)  # type: ignore[union-attr]  # None fails it


def test_no_day_of_the_year_makes_the_frame_harder_than_was_counted(library: Library) -> None:
    """The longest day is not the hardest: Saturday has a syllable more than Wednesday."""
    for language in ("en", "pl"):
        formula = held_to(language, library)
        assert formula is not None
        (frame,) = {
            cost.grade
            for one in prove_reading(library)
            if one.language == language
            for cost in one.costs
            if cost.wording.block == FRAME
        }
        assert frame is not None
        reader = replace(a_case().patient, language=language)
        for days in range(0, 366, 5):
            on = date(2026, 1, 1) + timedelta(days=days)
            found = message(library, a_case(patient=reader, visit_date=on), Channel.EMAIL)
            lines = (found.lines[0], found.lines[-1])
            assert formula.compute(count_lines(lines, language)) <= frame + ROUNDING, on


def test_a_text_in_detail_may_hold_the_plain_form_of_another_block(shelf_of: Made) -> None:
    long = "Please keep in mind that all of us here will be glad to hear from you at any time."
    plain = block("plain", EASY, more=f'sms: "{long}"\n', given="condition:wax")
    detail = block(
        "detail", EASY, more='sms: "Rest now."\nsms_detail: "Rest the ear."\n',
        given="condition:wax",
    )  # fmt: skip
    proved = {one.form: one for one in prove_reading(shelf_of(plain, detail))}

    for form in (SMS, SMS_DETAIL):
        assert proved[form].longest is not None
        assert proved[form].longest.wording.block == "plain"  # type: ignore[union-attr]  # None fails it
    assert [cost.wording.block for cost in proved[SMS_DETAIL].costs] == ["detail", "plain"]


def test_in_a_text_only_vital_blocks_are_taken_for_granted(shelf_of: Made) -> None:
    """A text that is too long drops the rest, the easy words for everybody too."""
    hard = block("hard", EASY, more=f'sms: "{HARD}"\n', given="condition:wax", kind="urgent")
    easy = block("easy", EASY, more='sms: "Sit. Rest. Eat. Sleep. Walk. Talk."\n')
    vital = easy.replace("kind: care", "kind: urgent")

    dropped, kept = (
        {one.form: one.bound for one in prove_reading(shelf_of(hard, other))}
        for other in (easy, vital)
    )

    assert dropped[SMS] == pytest.approx(FLESCH_KINCAID.compute(score_text(HARD).counts))
    assert kept[SMS] < dropped[SMS]  # type: ignore[operator]  # None fails it


def test_an_empty_shelf_has_its_frame_and_no_text(shelf_of: Made) -> None:
    proved = {one.form: one for one in prove_reading(shelf_of())}

    assert {cost.wording.block for cost in proved[PAGE].costs} == {FRAME}
    assert proved[PAGE].bound == pytest.approx(proved[PAGE].hardest.grade)  # type: ignore[union-attr]  # None fails it
    assert (proved[SMS].bound, proved[SMS].hardest, proved[SMS].longest) == (None, None, None)
