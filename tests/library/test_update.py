"""Update: nothing that anybody translated is lost, and nothing stale is used."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadContent
from aftercare.library.catalogues import digest, parse_catalogue
from aftercare.library.po import Key, Po, read_po
from aftercare.library.template import Asked, template
from aftercare.library.update import Updated, update

DAY = date(2026, 11, 25)
DRY, SWIM = ("care", "Keep your ear dry for a week."), ("water", "You may swim now.")
NEW_DRY = ("care", "Keep your ear dry for two weeks.")
SENTENCES = [
    (context, f"{verb} the {ear} ear {when}.")
    for context in ("a", "b")
    for verb in ("Dry", "Wash")
    for ear in ("left", "right")
    for when in ("now", "after a week of rest", "after two weeks of rest")
]
WORDS = (
    st.text("aż ć", min_size=1, max_size=8).map(lambda text: " ".join(text.split())).filter(bool)
)


def asking(*keys: Key) -> Po:
    listed = (Asked(file="content/x.md", line=1, context=c, msgid=m, said="care") for c, m in keys)
    return read_po("t.pot", template(listed, None, DAY))


def po(*pairs: tuple[Key, str], language: str = "pl") -> bytes:
    begun = update(language, "x.po", None, asking(*(key for key, _ in pairs))).raw.decode()
    for (context, msgid), msgstr in pairs:
        empty = f'msgctxt "{context}"\nmsgid "{msgid}"\nmsgstr ""'
        assert empty in begun
        begun = begun.replace(empty, empty.replace('msgstr ""', f'msgstr "{msgstr}"'))
    return begun.encode()


def updated(raw: bytes, *keys: Key) -> Updated:
    return update("pl", "x.po", raw, asking(*keys))


def used(raw: bytes) -> dict[Key, str]:
    """What a patient can be read, once somebody approves it."""
    return {
        key: one.phrase.msgid
        for key, one in parse_catalogue("pl", "x.po", raw, None).phrases.items()
    }


def test_a_new_language_gets_every_sentence_and_a_header_of_its_own() -> None:
    made = update("cy", "x.po", None, asking(DRY, SWIM))
    written = read_po("x.po", made.raw)

    assert made.new == (DRY, SWIM)
    assert written.field("Language") == "cy"
    assert (written.field("Plural-Forms") or "").startswith("nplurals=6;")


def test_a_translation_of_words_that_stay_is_kept_with_what_was_noted() -> None:
    raw = po((DRY, "Suche."), (SWIM, "Pływać.")).replace(b"#. care", b"# ask A. B.\n#. care", 1)

    done = updated(raw, DRY, SWIM)

    assert (done.kept, done.raw) == (2, raw)


def test_words_that_changed_keep_the_old_translation_where_no_patient_meets_it() -> None:
    done = updated(po((DRY, "Suche."), (SWIM, "Pływać.")), NEW_DRY, SWIM)

    stale = next(e for e in read_po("x.po", done.raw).active() if e.key == NEW_DRY)
    assert (done.stale, done.gone) == ((NEW_DRY,), (DRY,))
    assert (stale.msgstr, stale.fuzzy) == ("Suche.", True)
    assert stale.previous == ('msgctxt "care"', 'msgid "Keep your ear dry for a week."')
    assert used(done.raw) == {SWIM: "Pływać."}


def test_a_translation_comes_back_with_its_words_and_its_approval_still_fits() -> None:
    raw = po((DRY, "Suche."), (SWIM, "Pływać."))

    there = updated(raw, NEW_DRY, SWIM)
    back = updated(there.raw, DRY, SWIM)

    assert back.back == (DRY,)
    assert used(back.raw) == {DRY: "Suche.", SWIM: "Pływać."}
    by = 'by = "A. B"\nrole = "nurse"\ndate = 2026-11-20'
    approved = f'[[approval]]\n{by}\nstrings = ["{digest(*DRY, "Suche.")}"]'.encode()
    held = parse_catalogue("pl", "x.po", back.raw, ("a.toml", approved))
    assert held.phrases[DRY].approved


def test_the_same_words_in_another_block_are_offered_and_not_used() -> None:
    moved = ("water-2", SWIM[1])

    done = updated(po((SWIM, "Pływać.")), SWIM, moved)

    assert done.stale == (moved,)
    assert used(done.raw) == {SWIM: "Pływać."}


def test_words_with_little_in_common_start_from_nothing() -> None:
    done = updated(po((DRY, "Suche.")), ("care", "Ring us if it hurts."))

    assert len(done.new) == 1
    assert "Suche." in done.raw.decode()


def test_a_stale_sentence_that_changes_again_stays_stale() -> None:
    later = ("care", "Keep your ear dry for three weeks.")
    once = updated(po((DRY, "Suche.")), NEW_DRY)

    twice = updated(once.raw, later)

    entry = next(read_po("x.po", twice.raw).active())
    assert (entry.msgstr, entry.fuzzy) == ("Suche.", True)
    assert entry.previous[-1] == 'msgid "Keep your ear dry for a week."'


@pytest.mark.parametrize("spoil", [b'msgstr "half', b"nonsense\n", b'msgid "no translation"\n'])
def test_a_catalogue_that_cannot_be_read_whole_is_not_touched(spoil: bytes) -> None:
    with pytest.raises(BadContent, match="cannot be read whole") as caught:
        updated(po((DRY, "Suche.")) + b"\n" + spoil, DRY)

    assert "x.po:" in str(caught.value)


Shelf = st.lists(st.sampled_from(SENTENCES), min_size=1, max_size=8, unique=True)


@given(
    before=Shelf, texts=st.lists(WORDS, min_size=8, max_size=8), shelves=st.lists(Shelf, max_size=4)
)
@settings(max_examples=60, deadline=None)
def test_no_translation_is_ever_lost_and_none_is_read_for_other_words(
    before: list[Key], texts: list[str], shelves: list[list[Key]]
) -> None:
    pairs = list(zip(before, texts, strict=False))
    first = po(*pairs)

    raw = first
    for shelf in shelves:
        raw = updated(raw, *shelf).raw
        assert set(used(raw)) <= set(shelf)
        # What is read is what somebody wrote for these very words.
        assert all(dict(pairs)[key] == text for key, text in used(raw).items())
    back = updated(raw, *before).raw

    assert used(back) == used(first)


@given(before=Shelf, texts=st.lists(WORDS, min_size=8, max_size=8), after=Shelf)
@settings(max_examples=40, deadline=None)
def test_an_update_done_twice_is_done_once(
    before: list[Key], texts: list[str], after: list[Key]
) -> None:
    once = updated(po(*zip(before, texts, strict=False)), *after)

    assert updated(once.raw, *after).raw == once.raw
    assert [e.key for e in read_po("x.po", once.raw).active()] == after
