"""The English formulas, each with its preparation, its source and what is not settled."""

from __future__ import annotations

from math import inf, sqrt

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Profile, Scale

_EN = frozenset({"en"})
_LEFT_OUT = (
    "phone numbers, e-mail and web addresses, emoji and bare punctuation are left out "
    "(common practice, no source)"
)
_SENTENCES = (
    "headings left out; every paragraph and list item is at least one sentence; abbreviations, "
    "decimals, times, initials and ellipses end none"
)
_FLESCH = Profile(
    name="Flesch 1948",
    words=f"letters, numbers and symbols between blanks, joined by hyphens; {_LEFT_OUT}",
    sentences=_SENTENCES,
    syllables="as pronounced, the fewest where several stand; a numeral or symbol has one",
)
_SMOG = Profile(
    name="SMOG guides",
    words=f"hyphenated words are one, proper nouns count, numerals are read aloud; {_LEFT_OUT}",
    sentences=f"{_SENTENCES}; a stem that introduces a list belongs to the list's first item",
    syllables="as pronounced, the fewest where several stand",
)
_FOG = Profile(
    name="Gunning 1952",
    words=(
        "not hard: words capitalised inside a sentence, compounds of easy words, words of three "
        f"syllables by -ed, -es or -ing alone, numerals; {_LEFT_OUT}"
    ),
    sentences=_SENTENCES,
    syllables="as pronounced, the fewest where several stand",
)
_LETTERS = Profile(
    name="letters",
    words=f"letters, numbers and symbols between blanks; {_LEFT_OUT}",
    sentences=_SENTENCES,
    syllables="not used; letters leave out digits and punctuation, strokes leave out punctuation",
)
_DALE = Profile(
    name="Dale and Chall",
    words=(
        "familiar: the list, its regular endings, numerals, names of persons and places (taken to "
        "be words capitalised inside a sentence), hyphenated words when each part is; "
        f"{_LEFT_OUT}"
    ),
    sentences=_SENTENCES,
    syllables="not used",
)
_FORCAST = Profile(
    name="Caylor 1973",
    words=f"as Flesch 1948; {_LEFT_OUT}",
    sentences="not used, so it suits lists and forms",
    syllables="words of one, a numeral among them",
)


def _per_sentence(count: int, c: Counts) -> float:
    return count / c.sentences


def _percent(count: int | None, c: Counts) -> float:
    return 100 * (count or 0) / c.words


def _flesch(c: Counts) -> float:
    return 206.835 - 0.846 * _percent(c.syllables, c) - 1.015 * _per_sentence(c.words, c)


def _flesch_kincaid(c: Counts) -> float:
    return 0.39 * _per_sentence(c.words, c) + 0.118 * _percent(c.syllables, c) - 15.59


def _smog(c: Counts) -> float:
    sentences = max(1, c.sentences - c.stems)
    return 3.1291 + 1.0430 * sqrt(30 * (c.polysyllables or 0) / sentences)


def smog_by_hand(polysyllables: int) -> int:
    """McLaughlin's table for 30 sentences: 3 and the nearest square root; for comparison only.

    The precise form is 0.13 to 0.80 of a grade higher.
    """
    return 3 + max(1, round(sqrt(polysyllables)))


def _gunning_fog(c: Counts) -> float:
    return 0.4 * (_per_sentence(c.words, c) + _percent(c.complex_words, c))


def _coleman_liau(c: Counts) -> float:
    return 0.0588 * _percent(c.letters, c) - 0.296 * _percent(c.sentences, c) - 15.8


def _ari(c: Counts) -> float:
    return 4.71 * c.strokes / c.words + 0.5 * _per_sentence(c.words, c) - 21.43


def _dale_chall_1948(c: Counts) -> float:
    unfamiliar = _percent(c.unfamiliar_1948, c)
    return 0.1579 * unfamiliar + 0.0496 * _per_sentence(c.words, c) + 3.6365


def _dale_chall_1995(c: Counts) -> float:
    return 64 - 0.95 * _percent(c.unfamiliar_1995, c) - 0.69 * _per_sentence(c.words, c)


def _forcast(c: Counts) -> float:
    return 20 - 150 * (c.monosyllables or 0) / c.words / 10


def _lix(c: Counts) -> float:
    return _per_sentence(c.words, c) + _percent(c.long_words, c)


def _rix(c: Counts) -> float:
    return _per_sentence(c.long_words, c)


FLESCH = Formula(
    name="flesch",
    title="Flesch Reading Ease",
    languages=_EN,
    needs=("words", "sentences", "syllables"),
    scale=Scale.EASE,
    profile=_FLESCH,
    source="Flesch 1948, J Appl Psychol 32:221; bands: Flesch 1949, pp. 149-150",
    compute=_flesch,
    spread=53,
    bands=(
        Band(30, "very difficult"),
        Band(50, "difficult"),
        Band(60, "fairly difficult"),
        Band(70, "standard"),
        Band(80, "fairly easy"),
        Band(90, "easy"),
        Band(inf, "very easy"),
    ),
)
FLESCH_KINCAID = Formula(
    name="flesch_kincaid",
    title="Flesch-Kincaid Grade Level",
    languages=_EN,
    needs=("words", "sentences", "syllables"),
    scale=Scale.GRADE,
    profile=_FLESCH,
    source="Kincaid et al. 1975, US Navy Research Branch Report 8-75",
    compute=_flesch_kincaid,
    spread=7.7,
    conflict="simplified forms with the constants -15 and -16 circulate; they are not used",
)
SMOG = Formula(
    name="smog",
    title="SMOG",
    languages=_EN,
    needs=("polysyllables", "sentences", "stems"),
    scale=Scale.GRADE,
    profile=_SMOG,
    source="McLaughlin 1969, J Reading 12:639 (precise form); 10 to 29 sentences: later guides",
    compute=_smog,
    spread=10,
    least_sentences=10,
    full_sentences=30,
    error=1.5159,
    conflict="McLaughlin asks for 30 sentences; scaling up from 10 to 29 is from later guides",
)
GUNNING_FOG = Formula(
    name="gunning_fog",
    title="Gunning Fog",
    languages=_EN,
    needs=("words", "sentences", "complex_words"),
    scale=Scale.GRADE,
    profile=_FOG,
    source="Gunning 1952, The Technique of Clear Writing",
    compute=_gunning_fog,
    spread=9.4,
)
COLEMAN_LIAU = Formula(
    name="coleman_liau",
    title="Coleman-Liau",
    languages=_EN,
    needs=("words", "sentences", "letters"),
    scale=Scale.GRADE,
    profile=_LETTERS,
    source="Coleman & Liau 1975, J Appl Psychol 60:283 (short form)",
    compute=_coleman_liau,
    spread=9.8,
    conflict="the full form goes through the cloze percentage and differs by about 0.0005",
)
ARI = Formula(
    name="ari",
    title="Automated Readability Index",
    languages=_EN,
    needs=("words", "sentences", "strokes"),
    scale=Scale.GRADE,
    profile=_LETTERS,
    source="Smith & Senter 1967, AMRL-TR-66-220",
    compute=_ari,
    spread=8.4,
    conflict="whether punctuation is a stroke is told in two ways; here it is none",
)
DALE_CHALL_1948 = Formula(
    name="dale_chall_1948",
    title="Dale-Chall 1948",
    languages=_EN,
    needs=("words", "sentences", "unfamiliar_1948"),
    scale=Scale.INDEX,
    profile=_DALE,
    source="Dale & Chall 1948, Educ Res Bull 27:11 and 27:37; list: see data/README.md",
    compute=_dale_chall_1948,
    spread=4.6,
    bands=(
        Band(5, "US grade 4 and below"),
        Band(6, "US grades 5-6"),
        Band(7, "US grades 7-8"),
        Band(8, "US grades 9-10"),
        Band(9, "US grades 11-12"),
        Band(10, "US grades 13-15"),
        Band(inf, "US grade 16 and above"),
    ),
    conflict=(
        "adding 3.6365 only above 5% unfamiliar words is a later re-telling; here it is always "
        "added. The list in use is the one commonly labelled 1995"
    ),
)
DALE_CHALL_1995 = Formula(
    name="dale_chall_1995",
    title="New Dale-Chall 1995",
    languages=_EN,
    needs=("words", "sentences", "unfamiliar_1995"),
    scale=Scale.EASE,
    profile=_DALE,
    source="Chall & Dale 1995, Readability Revisited (cloze score); list: see data/README.md",
    compute=_dale_chall_1995,
    spread=28,
    # The boundary value belongs to the harder band: above 57 is grade 1.
    bands=(
        Band(15.0000001, "US grade 16 and above"),
        Band(21.0000001, "US grades 13-15"),
        Band(27.0000001, "US grades 11-12"),
        Band(33.0000001, "US grades 9-10"),
        Band(39.0000001, "US grades 7-8"),
        Band(44.0000001, "US grades 5-6"),
        Band(49.0000001, "US grade 4"),
        Band(53.0000001, "US grade 3"),
        Band(57.0000001, "US grade 2"),
        Band(inf, "US grade 1"),
    ),
    conflict="the list in use is the one commonly labelled 1995; its edition was not checked",
)
FORCAST = Formula(
    name="forcast",
    title="FORCAST",
    languages=_EN,
    needs=("words", "monosyllables"),
    scale=Scale.GRADE,
    profile=_FORCAST,
    source="Caylor et al. 1973, HumRRO TR 73-5; samples of 150 words; valid for grades 5-12",
    compute=_forcast,
    spread=6.1,
    bands=(
        Band(5, "below US grade 5, outside the range it was made for"),
        *(Band(grade + 0.5, f"US grade {grade}") for grade in range(5, 12)),
        Band(12.0000001, "US grade 12"),
        Band(inf, "above US grade 12, outside the range it was made for"),
    ),
    full_words=150,
    conflict="the regression it was rounded from is 20.43 - 0.11 N (Klare 1975, pp. 84-85)",
)
LIX = Formula(
    name="lix",
    title="LIX",
    languages=_EN,
    needs=("words", "sentences", "long_words"),
    scale=Scale.INDEX,
    profile=_LETTERS,
    source="Björnsson 1968, Läsbarhet; the bands are those for Swedish",
    compute=_lix,
    spread=31.5,
    least=0,
    bands=(
        Band(30, "very easy"),
        Band(40, "easy"),
        Band(50, "as a newspaper"),
        Band(60, "as an official text"),
        Band(inf, "very hard"),
    ),
)
RIX = Formula(
    name="rix",
    title="RIX",
    languages=_EN,
    needs=("words", "sentences", "long_words"),
    scale=Scale.INDEX,
    profile=_LETTERS,
    source="Anderson 1983, J Reading 26:490",
    compute=_rix,
    spread=3.4,
    least=0,
    bands=(
        Band(0.2, "US grade 1"),
        Band(0.5, "US grade 2"),
        Band(0.8, "US grade 3"),
        Band(1.3, "US grade 4"),
        Band(1.8, "US grade 5"),
        Band(2.4, "US grade 6"),
        Band(3.0, "US grade 7"),
        Band(3.7, "US grade 8"),
        Band(4.5, "US grade 9"),
        Band(5.3, "US grade 10"),
        Band(6.2, "US grade 11"),
        Band(7.2, "US grade 12"),
        Band(inf, "beyond US grade 12"),
    ),
)
ENGLISH_FORMULAS = (
    FLESCH,
    FLESCH_KINCAID,
    SMOG,
    GUNNING_FOG,
    COLEMAN_LIAU,
    ARI,
    DALE_CHALL_1948,
    DALE_CHALL_1995,
    FORCAST,
    LIX,
    RIX,
)
