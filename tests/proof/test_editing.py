"""What an editor has to look at, and what an editor has accepted with a reason."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from made_up_blocks import block

from aftercare.model import Library
from aftercare.proof import Finding, advice_limits, findings, prove_reading, review_text
from aftercare.score.advice import Kind, Standing

Made = Callable[..., Library]
VAGUE = "Come back soon.\n"
HARD = "Administer prescribed antibiotic medication following individualised instructions.\n"
LONG = (
    "Keep the ear dry for the next two weeks and do not put your head under the water of the pool "
    "or the sea or the bath.\n"
)


def found(library: Library) -> list[Finding]:
    return list(findings(library, prove_reading(library)))


def advice(library: Library) -> list[str]:
    """The findings on the words of blocks, without those on limits."""
    return [one.problem.split(":")[0] for one in found(library)]


def accepted(*entries: tuple[str, str], reason: str = "said so on purpose") -> str:
    rows = (
        f'  - {{kind: "{kind}", words: "{words}", reason: "{reason}"}}' for kind, words in entries
    )
    return "accepted:\n" + "\n".join(rows) + "\n"


# --- the shelf --------------------------------------------------------------------------


def test_there_is_nothing_to_look_at_on_the_shelf(library: Library) -> None:
    assert found(library) == []


# --- limits -----------------------------------------------------------------------------


def test_a_sentence_over_the_limit_is_told_with_its_file_and_reader(shelf_of: Made) -> None:
    body = f"[reader:self] Rest.\n\n[reader:parent] {LONG}\n"
    told = [one for one in found(shelf_of(block("b", body))) if "in a sentence" in one.problem]

    (one,) = told
    assert (one.block, one.file, one.language) == ("b", "content/made/0.md", "en")
    assert one.problem == "page for reader:parent: 27 words in a sentence, limit 20"
    assert one.help == "cut it in two"


def test_a_long_sentence_is_told_once_for_each_form_it_stands_in(shelf_of: Made) -> None:
    more = f'sms: "{LONG.strip()}"\n'
    told = [
        one.problem.split(":")[0]
        for one in found(shelf_of(block("b", "Rest.\n", more=more)))
        if "in a sentence" in one.problem
    ]

    # A text in detail holds the plain form too; that is no second fault.
    assert told == ["sms"]


def test_a_block_too_hard_by_itself_is_told_in_the_source_language(shelf_of: Made) -> None:
    told = [one.problem for one in found(shelf_of(block("b", HARD, given="condition:wax")))]

    assert any(problem.startswith("page: Flesch-Kincaid Grade Level ") for problem in told)


def test_a_page_that_can_be_too_hard_names_its_hardest_part(shelf_of: Made) -> None:
    library = shelf_of(
        block("easy", "Sit. Rest. Eat.\n"), block("hard", HARD, given="condition:wax")
    )

    (one,) = (one for one in found(library) if "can reach" in one.problem)

    assert (one.block, one.file) == ("hard", "content/made/1.md")
    assert one.problem.endswith("limit 6; this is the hardest part")
    # It is no more than the block is by itself, since easier words come with it.
    alone = next(
        cost.grade for cost in prove_reading(library)[0].costs if cost.wording.block == "hard"
    )
    assert alone is not None
    assert 6 < float(one.problem.split("can reach ")[1].split(",")[0]) < alone


def test_a_long_sentence_of_a_translation_names_its_catalogue(library: Library) -> None:
    two = {language: library.catalogues[language] for language in ("pl", "ur")}
    tight = replace(library, catalogues=two, limits=replace(library.limits, sentence_words=17))
    told = {
        (one.language, one.file) for one in found(tight)
        if "in a sentence" in one.problem and one.language != "en"
    }  # fmt: skip

    assert told == {
        ("pl", "locales/pl/LC_MESSAGES/aftercare.po"),
        ("ur", "locales/ur/LC_MESSAGES/aftercare.po"),
    }


def test_a_long_sentence_of_a_chinese_translation_is_told_in_characters(library: Library) -> None:
    one = {"zh": library.catalogues["zh"]}
    limits = replace(library.limits, sentence_words=20, sentence_characters=25)
    tight = replace(library, catalogues=one, limits=limits)

    told = [one for one in found(tight) if "in a sentence" in one.problem]

    assert {one.language for one in told} == {"zh"}
    assert all(one.problem.endswith(" characters in a sentence, limit 25") for one in told)


def test_the_frame_s_own_sentences_are_held_to_the_limits(shelf_of: Made) -> None:
    def long(text: str) -> str:
        return re.sub('^caution = ".*"$', f'caution = "{LONG.strip()}"', text, flags=re.MULTILINE)

    (one,) = (one for one in found(shelf_of(frame=long)) if "in a sentence" in one.problem)

    assert (one.block, one.file) == ("frame", "content/frame.toml")


def test_a_clinic_that_holds_polish_to_nothing_has_no_bound_to_break(library: Library) -> None:
    free = replace(library, limits=replace(library.limits, formulas={"smog": 0.1}))

    assert all(one.bound is None for one in prove_reading(free) if one.language == "pl")
    assert [one.problem for one in found(free)] == []


# --- advice and acceptances -------------------------------------------------------------


def test_open_advice_is_told_with_what_would_help(shelf_of: Made) -> None:
    (one,) = found(shelf_of(block("b", VAGUE)))

    assert (one.block, one.file, one.language) == ("b", "content/made/0.md", "en")
    assert one.problem.startswith("vague time: “soon”: ")
    assert one.help.endswith("or accept it in the header with a reason")


def test_accepted_advice_is_told_no_more(shelf_of: Made) -> None:
    more = accepted(("vague time", "soon"))

    assert found(shelf_of(block("b", VAGUE, more=more))) == []


@pytest.mark.parametrize("words", ["SOON", "soon ", " Soon", "**soon**"])
def test_marks_blanks_and_case_do_not_count_in_an_acceptance(words: str, shelf_of: Made) -> None:
    more = accepted(("vague time", words))

    assert found(shelf_of(block("b", VAGUE, more=more))) == []


def test_advice_on_bold_words_is_accepted_by_the_bare_ones(shelf_of: Made) -> None:
    more = accepted(("vague time", "soon"))

    assert found(shelf_of(block("b", "Come back **soon**.\n", more=more))) == []


def test_an_acceptance_of_another_kind_or_of_other_words_accepts_nothing(shelf_of: Made) -> None:
    for kind, words in (("passive voice", "soon"), ("vague time", "later")):
        told = found(shelf_of(block("b", VAGUE, more=accepted((kind, words)))))
        assert [one.problem.split(" ")[0] for one in told] == ["vague", "accepted"]
        assert told[1].problem == f"accepted {kind} “{words}” fits nothing any more"
        assert told[1].help == "take it out of the header"


def test_a_stale_acceptance_names_the_file(shelf_of: Made) -> None:
    (one,) = found(shelf_of(block("b", "Rest.\n", more=accepted(("vague time", "soon")))))

    assert one.file == "content/made/0.md"
    assert "fits nothing any more" in one.problem


def test_a_kind_that_does_not_exist_is_a_finding_that_names_the_file(shelf_of: Made) -> None:
    """And the rest of the shelf is checked all the same."""
    wrong = block("b", VAGUE, more=accepted(("vague tyme", "soon")))
    told = found(shelf_of(wrong, block("c", VAGUE)))

    assert [(one.block, one.file) for one in told] == [
        ("b", "content/made/0.md"),
        ("b", "content/made/0.md"),
        ("c", "content/made/1.md"),
    ]
    assert told[1].problem == "accepted “vague tyme”: there is no such kind of advice"
    assert "vague time" in told[1].help


def test_a_stale_acceptance_cannot_itself_be_accepted(shelf_of: Made) -> None:
    kind = Kind.STALE_ACCEPTANCE.value
    (one,) = found(shelf_of(block("b", "Rest.\n", more=accepted((kind, "soon")))))

    assert one.problem == f"accepted “{kind}”: there is no such kind of advice"


def test_one_acceptance_holds_for_every_wording(shelf_of: Made) -> None:
    body = "".join(f"[side:{side}] Come back soon.\n\n" for side in ("left", "right", "both"))
    short = {"more": 'sms: "Come back soon."\n'}

    assert advice(shelf_of(block("b", body, **short))) == ["vague time"]
    more = short["more"] + accepted(("vague time", "soon"))
    assert found(shelf_of(block("b", body, more=more))) == []


def test_an_acceptance_may_fit_one_wording_alone(shelf_of: Made) -> None:
    body = "[reader:self] Come back soon.\n\n[reader:parent] Rest.\n"
    more = accepted(("vague time", "soon"))

    assert found(shelf_of(block("b", body, more=more))) == []


def test_the_acceptance_of_one_block_says_nothing_of_another(shelf_of: Made) -> None:
    more = accepted(("vague time", "soon"))
    told = found(shelf_of(block("a", VAGUE, more=more), block("b", VAGUE)))

    assert [one.block for one in told] == ["b"]


def test_a_retired_block_is_looked_at_no_more(shelf_of: Made) -> None:
    more = accepted(("vague tyme", "soon"))

    assert found(shelf_of(block("b", VAGUE + LONG, state="retired", more=more))) == []


# --- terms that another block explains --------------------------------------------------

TERM = "Do not touch the grommet.\n"
EXPLAINED = "A grommet is a tiny tube in the eardrum (the thin skin of the ear).\n"


def terms(library: Library) -> list[tuple[str, str]]:
    return [
        (one.block, one.problem.split("“")[1].split("”")[0])
        for one in found(library)
        if one.problem.startswith("clinical term")
    ]


def test_a_term_is_explained_where_a_block_that_comes_along_explains_it(shelf_of: Made) -> None:
    lone = block("a", TERM, given="condition:grommet")

    assert terms(shelf_of(lone)) == [("a", "grommet")]
    assert terms(shelf_of(lone, block("b", EXPLAINED, given="condition:grommet"))) == []
    assert terms(shelf_of(lone, block("b", EXPLAINED))) == []


@pytest.mark.parametrize(
    "other",
    [
        {"given": "condition:wax"},
        {"given": "condition:grommet, age:child"},
        {"given": "condition:grommet", "withheld": "age:child"},
        {"given": "condition:grommet", "state": "retired"},
    ],
)
def test_a_block_that_some_of_the_patients_do_not_get_explains_nothing(
    other: dict[str, str], shelf_of: Made
) -> None:
    lone = block("a", TERM, given="condition:grommet")

    assert ("a", "grommet") in terms(shelf_of(lone, block("b", EXPLAINED, **other)))


def test_a_block_for_any_of_several_facts_comes_along_with_one_of_them(shelf_of: Made) -> None:
    wide = block("b", EXPLAINED, given="condition:grommet, condition:wax")
    narrow = block("a", TERM, given="condition:grommet")

    assert terms(shelf_of(narrow, wide)) == []
    # And not the other way about: whoever has wax gets the one and not the other.
    wide = block("a", TERM, given="condition:grommet, condition:wax")
    narrow = block("b", EXPLAINED, given="condition:grommet")
    assert terms(shelf_of(wide, narrow)) == [("a", "grommet")]


def test_a_term_that_only_some_wordings_explain_is_not_explained(shelf_of: Made) -> None:
    lone = block("a", TERM, given="condition:grommet")
    half = f"[reader:self] {EXPLAINED}\n[reader:parent] It is a tube.\n"

    assert ("a", "grommet") in terms(shelf_of(lone, block("b", half)))


def test_a_term_explained_in_a_text_alone_is_not_explained_on_a_page(shelf_of: Made) -> None:
    lone = block("a", TERM, given="condition:grommet")
    texted = block("b", "Rest.\n", more=f'sms_detail: "{EXPLAINED.strip()}"\n')

    assert ("a", "grommet") in terms(shelf_of(lone, texted))


def test_the_plural_of_an_explained_term_is_explained(shelf_of: Made) -> None:
    lone = block("a", "Do not touch the grommets.\n", given="condition:grommet")

    assert terms(shelf_of(lone)) == [("a", "grommets")]
    assert terms(shelf_of(lone, block("b", EXPLAINED))) == []


# --- one text ---------------------------------------------------------------------------


def test_a_text_is_reviewed_by_the_clinic_s_own_lists_and_limits(library: Library) -> None:
    tight = replace(library, limits=replace(library.limits, sentence_words=3))
    bare = replace(library, glossary={})

    kinds = [one.kind for one in review_text("Do not touch the grommet.", tight).advice]

    assert kinds == [Kind.LONG_SENTENCE, Kind.UNEXPLAINED_TERM]
    assert review_text("Do not touch the grommet.", bare).advice == ()
    assert advice_limits(tight).sentence_words == 3


def test_advice_on_a_text_of_no_words_is_none(library: Library) -> None:
    found = review_text("", library)

    assert (found.advice, found.hardest, found.hard_words) == ((), (), ())
    assert all(one.standing is not Standing.OPEN for one in found.advice)
