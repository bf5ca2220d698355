"""All advice on a text: places, acceptance, and what any input at all does to it."""

from __future__ import annotations

from time import perf_counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadInput
from aftercare.score.advice import Accepted, Kind, Standing, hardest, review

FAULTY = (
    "- It was **not un**usual.",
    "It is important that you keep _it_ dry.",
    "Put in 3 twice a day 👂.",
    "> Call {clinic_phone} if it\n> hurts soon.",
    "1. The removal\n   of wax was done.",
)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.sampled_from(FAULTY), min_size=1, max_size=6),
    st.sampled_from(["\n\n", "\r\n\r\n", "\n\n# Ears\n\n"]),
)
def test_the_words_of_advice_stand_between_its_offsets_on_its_line(advised, parts, between):
    text = between.join(parts)
    found = advised(text)
    assert found
    for one in found:
        assert text[one.start : one.end] == one.words != ""
        before = text[: one.start].replace("\r\n", "\n")
        assert one.line == before.count("\n") + 1
        assert all((one.reason, one.help, one.source))


@settings(max_examples=300, deadline=None)
@given(
    st.text(max_size=200)
    | st.lists(st.sampled_from([*FAULTY, "\x00", "\r", "²", "٣ "])).map("".join)
)
def test_any_text_gets_an_answer_in_text_order(house, text):
    found = review(text, **house)
    starts = [one.start for one in found.advice]
    assert starts == sorted(starts)
    for one in (*found.advice, *found.hardest, *found.hard_words):
        assert text[one.start : one.end] == one.words


def test_marks_inside_the_words_are_kept(advised):
    found = advised("It is **not** un\\usual or **not unusual**.")
    assert [one.words for one in found if one.kind is Kind.DOUBLE_NEGATIVE] == ["not unusual"]


def test_accepted_advice_is_kept_with_the_editors_reason(advised):
    text = "Call us **if** it hurts. The ear was cleared."
    kept = Accepted(Kind.LATE_CONDITION, "IF it  hurts", "the call comes first here")
    found = {one.kind: one for one in advised(text, accepted=[kept])}
    assert found[Kind.LATE_CONDITION].standing is Standing.ACCEPTED
    assert found[Kind.LATE_CONDITION].accepted_because == "the call comes first here"
    assert found[Kind.PASSIVE].standing is Standing.OPEN


def test_an_acceptance_that_fits_nothing_is_advice_itself(advised):
    gone = Accepted(Kind.PASSIVE, "was cleared", "nobody knows who")
    found = advised("We cleared the ear.", accepted=[gone])
    assert [(one.kind, one.standing) for one in found] == [(Kind.STALE_ACCEPTANCE, Standing.OPEN)]
    assert "“was cleared”" in found[0].reason


def test_an_accepted_term_that_is_now_explained_needs_no_acceptance(advised):
    kept = Accepted(Kind.UNEXPLAINED_TERM, "tinnitus", "the clinic says it aloud")
    found = advised("A sound called tinnitus.", accepted=[kept])
    assert [one.standing for one in found if one.words] == [Standing.SHOWN]
    assert [one.kind for one in found if not one.words] == [Kind.STALE_ACCEPTANCE]


def test_an_acceptance_covers_its_own_kind_only(advised):
    wrong = Accepted(Kind.VAGUE_TIME, "was cleared", "it is fine")
    found = {one.kind: one.standing for one in advised("The ear was cleared.", accepted=[wrong])}
    assert found == {Kind.PASSIVE: Standing.OPEN, Kind.STALE_ACCEPTANCE: Standing.OPEN}


def test_an_acceptance_without_a_reason_is_refused(advised):
    with pytest.raises(BadInput, match="“was cleared” has no reason"):
        advised("The ear was cleared.", accepted=[Accepted(Kind.PASSIVE, "was cleared", " ")])


def test_a_plain_text_gets_no_advice(advised):
    assert (
        advised("# Your ear\n\nKeep it dry today.\n\n- Rest at home.\n- Call us on {clinic_phone}.")
        == ()
    )
    assert advised("") == ()


HOSTILE = (
    *("If and, ", "regularly ", "grommet ", "it is very very ", "not unless ", "1 in 10 ", "2 to "),
    *("Call us if ", "you are advised to ", "be very ", "the use of ", "as soon as ", "Keep dry. "),
    *("[", "*a_", "`a", "&amp;", "|a|b|\n", "\\", "<a ", "![", "a\r", "\n- a\n", "{a", "0", "a-"),
    *("'", "a.B"),
)


@pytest.mark.parametrize("bit", HOSTILE)
def test_eight_times_the_text_costs_about_eight_times_as_much(advised, bit):
    def cost(times: int) -> float:
        best = 9.0
        for _ in range(2):
            begun = perf_counter()
            advised(bit * times)
            best = min(best, perf_counter() - begun)
        return best

    advised(bit)
    # Quadratic cost would be 64 times as much.
    assert cost(4_000) < 28 * cost(500) + 0.02


def test_a_long_text_has_its_hardest_sentence_first(house):
    text = "Rest. The administration of prophylactic medication is contraindicated. Keep it dry."
    assert [one.words for one in hardest(text, n=2, **house)] == [
        "The administration of prophylactic medication is contraindicated.",
        "Keep it dry.",
    ]
