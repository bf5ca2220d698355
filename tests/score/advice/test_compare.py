"""What a rewrite gained, sentence by sentence and as a whole."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.score.advice import Difference, Kind, Turn, compare

HERE = Path(__file__).parent
OLD = (
    "It is important that you keep the affected ear dry for the first two weeks, and you should "
    "not let any water get into the ear. The drops should be applied twice daily. Do not drive. "
    "Goodbye."
)
NEW = (
    "Keep the ear dry for two weeks. Do not let water get into it. Use the drops twice daily. "
    "Do not drive. Walk."
)


def turns(comparison):
    return [(one.turn, len(one.old), len(one.new)) for one in comparison.changes]


def test_each_sentence_finds_what_it_was_made_into(house):
    found = compare(OLD, NEW, **house)
    assert turns(found) == [
        (Turn.REWRITTEN, 1, 2),
        (Turn.REWRITTEN, 1, 1),
        (Turn.SAME, 1, 1),
        (Turn.DROPPED, 1, 0),
        (Turn.ADDED, 0, 1),
    ]
    first = found.changes[0]
    assert set(first.advice_gone) == {Kind.LONG_SENTENCE, Kind.BURIED_ACTION}
    assert first.advice_new == ()
    assert (first.old[0].count, [one.count for one in first.new]) == (26, [7, 7])


def test_two_sentences_made_into_one_belong_together(house):
    found = compare("Keep the ear dry. Keep the ear warm.", "Keep the ear dry and warm.", **house)
    assert turns(found) == [(Turn.REWRITTEN, 2, 1)]


def test_a_sentence_put_between_the_halves_belongs_to_the_rewrite(house):
    new = "Keep your ear dry. Rest. Keep the left ear dry."
    assert turns(compare("Keep the ear dry.", new, **house)) == [(Turn.REWRITTEN, 1, 3)]


def test_a_worse_version_has_new_advice_and_the_sums_show_it(house):
    found = compare(NEW, OLD, **house)
    assert Kind.BURIED_ACTION in found.changes[0].advice_new
    assert (found.old_advice[Kind.PASSIVE], found.new_advice[Kind.PASSIVE]) == (0, 1)
    assert found.new_counts.words > found.old_counts.words


def test_short_texts_get_no_grade_and_so_no_difference(house):
    found = compare(OLD, NEW, **house)
    assert {one.difference for one in found.formulas.values()} == {Difference.NOT_SCORED}
    assert all(one.gain is None for one in found.formulas.values())


def test_a_difference_inside_the_interval_is_not_called_clear(house):
    old = (HERE / "leaflet.md").read_text("utf-8")
    slightly = old.replace("Results are given to you at once.", "You get results at once.")
    found = compare(old, slightly, **house).formulas["flesch_kincaid"]
    assert 0 < abs(found.gain) < 0.5
    assert found.difference is Difference.WITHIN_INTERVAL


def test_a_plainly_easier_text_is_clearly_easier(house):
    old = (HERE / "leaflet.md").read_text("utf-8")
    easy = (HERE.parent / "ear_text.md").read_text("utf-8")
    found = compare(old, easy, **house).formulas["flesch_kincaid"]
    assert found.gain < -1
    assert found.difference is Difference.CLEAR


def test_nothing_changes_between_a_text_and_itself(house):
    text = (HERE / "leaflet.md").read_text("utf-8")
    found = compare(text, text, **house)
    assert {one.turn for one in found.changes} == {Turn.SAME}
    assert all(one.gain == 0 for one in found.formulas.values())
    assert found.old_advice == found.new_advice


SENTENCES = st.lists(
    st.sampled_from(["Keep dry.", "Keep the ear dry.", "Rest.", "Call us now.", "Call us.", "Go."]),
    max_size=12,
).map(" ".join)


def sentences(text: str) -> list[str]:
    return [f"{one.strip()}." for one in text.split(".") if one.strip()]


@settings(max_examples=500, deadline=None)
@given(SENTENCES, SENTENCES)
def test_every_sentence_of_both_versions_comes_once_and_in_order(house, old, new):
    found = compare(old, new, **house)
    olds, news = (
        [cost.words for one in found.changes for cost in getattr(one, side)]
        for side in ("old", "new")
    )
    assert sorted(olds) == sorted(sentences(old))
    assert news == sentences(new)
