"""The hardest sentences and the hard words, with what would help."""

from __future__ import annotations

from aftercare.score.advice import hard_words, hardest

PLAIN = {"monitor": "check", "cease": "stop", "due to the fact that": "because", "permit": "let"}


def told(text: str) -> list[tuple[str, str | None, int]]:
    return [(one.words, one.plainer, one.times) for one in hard_words(text, PLAIN)]


def test_a_plainer_choice_is_found_for_any_regular_form():
    text = (
        "Monitoring ceased. We permitted it, **monitored** it and cease due to the fact that it "
        "ceases."
    )
    assert told(text) == [
        ("Monitoring", "check", 2),
        ("ceased", "stop", 3),
        ("permitted", "let", 1),
        ("due to the fact that", "because", 1),
    ]


def test_a_hard_word_without_a_plainer_choice_is_still_named():
    assert told("The laryngoscopy went well. Laryngoscopy is safe.") == [("laryngoscopy", None, 2)]


def test_words_a_fourth_grader_knows_are_not_hard():
    assert told("The family had an animal and another hospital visit.") == []


def test_a_hard_sentence_says_why_and_what_would_help(house):
    text = (
        "Keep it dry.\n\n"
        "- Patients are advised to cease administration of **otic** medication soon."
    )
    first, second = hardest(text, n=5, **house)
    assert (first.line, first.count, second.words) == (3, 10, "Keep it dry.")
    assert text[first.start : first.end] == first.words
    assert first.reasons[0] == "10 words, 2 of them of three syllables or more"
    assert first.reasons[1].startswith("hard words: advised, cease, administration")
    assert any(reason.startswith("buried action") for reason in first.reasons)
    assert any(reason.startswith("vague time") for reason in first.reasons)
    assert "“medication”: medicine" in first.helps
    assert "use the verb: give" in first.helps


def test_nothing_is_hardest_in_an_empty_text_or_when_none_are_asked_for(house):
    assert hardest("", **house) == ()
    assert hardest("Keep dry.", n=0, **house) == ()
