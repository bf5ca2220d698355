"""Sentences and words of each language, cut and counted by hand (common practice, no source)."""

from __future__ import annotations

import pytest

from aftercare.model import Counts
from aftercare.score.languages import COUNTED, SCORED, abbreviations, find, sentence_enders
from aftercare.score.text import score_text


def counted(language: str, line: str) -> tuple[Counts, ...]:
    found = find(language)
    assert found is not None
    return found.sentences(line)


def words(language: str, line: str) -> list[int]:
    return [sentence.words for sentence in counted(language, line)]


@pytest.mark.parametrize(
    ("language", "line", "lengths"),
    [
        ("es", "¿Le duele el oído? ¡Llame ya! No espere.", [4, 2, 2]),
        ("es", "La Dra. Gil y el Sr. Paz le verán a las 9.30 h. en la clínica.", [16]),
        ("es", "Si le duele, ¿qué debe hacer? Llame.", [6, 1]),
        (
            "es",
            "Evite el agua, p. ej. en la ducha. Use algodón, gasa, etc. Vuelva pronto.",
            [8, 4, 2],
        ),
        (
            "it",
            "Il dott. Rossi la visiterà. Porti i farmaci, gli occhiali, ecc. Grazie.",
            [5, 6, 1],
        ),
        ("fr", "Avez-vous mal ? Appelez le Dr. Petit. M. Blanc vous verra.", [2, 4, 4]),
        ("fr", "Évitez l'eau, les cotons-tiges, etc. Merci beaucoup.", [5, 2]),
        ("de", "Nehmen Sie z. B. Tropfen. Am 3. Mai kommt Dr. Weiß.", [5, 6]),
        ("de", "Kein Wasser, keine Watte usw. Rufen Sie an.", [5, 3]),
        ("de", "Nehmen Sie z.B. Watte. Ist es trocken? Gut!", [4, 3, 1]),
        ("nl", "Bel dhr. Jansen of mevr. De Vries. Gebruik geen watten, bijv. in bad.", [7, 6]),
        (
            "pl",
            "Proszę przyjść o godz. 9.30 na ul. Leśną. Można pić wodę, herbatę itp. Proszę.",
            [8, 5, 1],
        ),
        ("pl", "Proszę nie używać wody, np. pod prysznicem, w dniu 15. maja.", [11]),
        ("pt", "O Sr. Lima e a Dra. Rosa esperam. Volte já!", [8, 2]),
        ("ru", "Приходите на ул. Лесная, д. 5, к г. Иванову. Не мочите ухо.", [9, 3]),
        ("ru", "Вода, мыло и т. д. Позвоните нам.", [5, 2]),
        ("tr", "Dr. Kaya sizi 3. katta bekliyor. Su, sabun vb. Kulağınız ağrıyor mu?", [6, 3, 3]),
        ("cy", "Ffoniwch Dr. Jones. Peidiwch â nofio!", [3, 3]),
        ("ro", "Dl. Popa vă așteaptă. Vă doare urechea?", [4, 3]),
        ("so", "Wac rugta caafimaadka. Biyo ha gelin!", [3, 3]),
        ("ur", "کان خشک رکھیں۔ کیا درد ہے؟ فون کریں۔", [3, 3, 2]),
        ("ur", "کان خشک رکھیں۔فون کریں۔", [3, 2]),
        ("ar", "هل تشعر بألم؟ اتصل بنا. شكرا!", [3, 2, 1]),
        ("bn", "কান শুকনো রাখুন। ডা. রহমান দেখবেন। ব্যথা আছে?", [3, 3, 2]),
        ("pa", "ਕੰਨ ਸੁੱਕਾ ਰੱਖੋ। ਕੀ ਦਰਦ ਹੈ? ਡਾ. ਸਿੰਘ ਨੂੰ ਮਿਲੋ।", [3, 3, 4]),
        ("gu", "કાન સૂકો રાખો. શું દુખાવો છે? ફોન કરો.", [3, 3, 2]),
        ("ta", "காதை உலர்வாக வைக்கவும். வலி உள்ளதா? அழைக்கவும்.", [3, 2, 1]),
        ("zh", "请保持耳朵干燥。疼吗？请来电！", [7, 2, 3]),
        ("zh", "请用 MRI 检查。", [5]),
    ],
)
def test_sentences_are_cut_as_by_hand(language: str, line: str, lengths: list[int]) -> None:
    assert words(language, line) == lengths


@pytest.mark.parametrize("language", sorted({*SCORED, *COUNTED}))
def test_phone_numbers_addresses_and_holes_are_no_words(language: str) -> None:
    end = "。" if language == "zh" else "!"
    line = f"aa 01632 960000 bb www.clinic.example cc info@clinic.example dd \ufffc ee{end}"

    assert words(language, line) == [5]


@pytest.mark.parametrize("language", sorted(SCORED))
def test_a_date_a_dose_and_a_time_are_words(language: str) -> None:
    assert words(language, "aa 01.05.2026 bb 2,5 ml cc 10:30 dd") == [8]


@pytest.mark.parametrize("language", sorted({*SCORED, *COUNTED}))
def test_a_line_of_punctuation_has_no_sentence(language: str) -> None:
    assert counted(language, " - ... ! ؟ ।  ") == ()
    assert counted(language, "") == ()


def test_a_colon_makes_the_last_sentence_a_stem() -> None:
    first, last = counted("de", "Ruhe hilft. Rufen Sie an bei:")

    assert (first.stems, last.stems) == (0, 1)


def test_the_number_of_a_list_item_is_no_word() -> None:
    assert words("es", "1. Lave el oído.") == [3]


def test_every_field_a_formula_needs_is_counted() -> None:
    (counts,) = counted("de", "Die Ohrenentzündung tut weh.")

    assert counts == Counts(
        words=4,
        sentences=1,
        syllables=8,
        polysyllables=1,
        longest_sentence=4,
        monosyllables=3,
        four_syllables=1,
        letters=24,
        strokes=24,
        long_words=1,
        complex_words=None,
        unfamiliar_1948=None,
        unfamiliar_1995=None,
    )


@pytest.mark.parametrize("language", sorted(COUNTED))
def test_a_language_without_syllable_rules_says_none_and_not_nought(language: str) -> None:
    (counts,) = counted(language, "a")

    assert counts.words == 1
    assert counts.syllables is counts.polysyllables is None
    assert counts.monosyllables is counts.four_syllables is None


def test_what_is_remembered_of_a_word_changes_no_answer() -> None:
    line = "La infección del oído duele."

    assert counted("es", line) == counted("es", line)


def test_a_word_does_not_break_at_the_marks_of_an_indic_script() -> None:
    assert words("bn", "ব্যথা") == words("ta", "உலர்வாக") == words("pa", "ਸੁੱਕਾ") == [1]


@pytest.mark.parametrize(
    ("language", "mark"),
    [("ur", "۔"), ("ur", "؟"), ("ar", "؟"), ("bn", "।"), ("pa", "।"), ("zh", "。")],
)
def test_a_script_ends_sentences_with_its_own_marks(language: str, mark: str) -> None:
    assert mark in sentence_enders(language)
    assert words(language, f"a b{mark} c") == [2, 1]


def test_bengali_keeps_the_full_stop_for_abbreviations() -> None:
    assert "." not in sentence_enders("bn")


def test_no_abbreviation_is_in_both_lists_and_none_keeps_its_full_stop() -> None:
    for language in {*SCORED, *COUNTED}:
        short = abbreviations(language)
        assert not short.never_end & short.may_end, language
        assert all(
            form == form.lower() and not form.endswith(".")
            for form in short.never_end | short.may_end
        )


@pytest.mark.parametrize("language", sorted(SCORED))
def test_the_score_of_a_text_answers_by_its_own_formulas(language: str) -> None:
    text = "Aa bababa ca da ea fa. Дом стоит у самого леса.\n\n" * 12
    found = find(language)
    assert found is not None
    score = score_text(text, language=f"{language}-XX")

    for formula in found.formulas:
        assert score.values[formula.name] == pytest.approx(formula.compute(score.counts))
    assert score.values["flesch"] is None


def test_a_word_glued_to_a_name_that_was_taken_out_is_no_word() -> None:
    assert words("tr", "Dr. \ufffc'nin aradı.") == [2]


def test_an_ellipsis_ends_a_sentence_only_before_a_capital() -> None:
    assert words("es", "Espere… 5 minutos... y vuelva. Espere… Luego llame.") == [5, 1, 2]


def test_a_slash_parts_words_and_not_figures() -> None:
    assert words("es", "gotas y/o spray, 10/12 horas") == [6]


def test_long_and_many_syllabled_words_are_told_from_those_just_below() -> None:
    # so-pa 2, o-í-do 3, mé-di-co 3, an-ti-bió-ti-co 5, te-lé-fo-no 4; six and seven letters
    (counts,) = counted("es", "sopa oído médico antibiótico teléfono doctor doctora")

    assert counts.syllables == 2 + 3 + 3 + 5 + 4 + 2 + 3
    assert counts.polysyllables == 5
    assert counts.four_syllables == 2
    assert counts.monosyllables == 0
    assert counts.long_words == 3
