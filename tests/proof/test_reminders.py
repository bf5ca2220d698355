"""Every recall message there is: seen to hold of the shipped ones, and to fail when it does not."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from made_up import HOME

from aftercare.edges.folder import read_home
from aftercare.library import read
from aftercare.model import Library
from aftercare.proof.reminders import of_reminders

FILES = read_home(HOME)
SHELF = "content/reminders"
Change = Callable[[str], str]


def changed(language: str = "", **changes: Change | None) -> Library:
    """The shipped shelf with files of `content/reminders` changed, or taken out."""
    files = dict(FILES)
    for name, change in changes.items():
        path = f"{SHELF}/{name.replace('_', '-')}.md"
        raw = files.pop(path)
        if change is not None:
            files[path] = change(raw.decode()).encode()
            assert files[path] != raw
    return read(files, wanted=(language,) if language else ())


def problems(library: Library) -> set[tuple[str, str]]:
    return {(one.block, one.problem) for one in of_reminders(library)}


def test_nothing_is_found_in_the_shipped_recall_messages() -> None:
    assert problems(read(FILES, wanted=())) == set()


def test_a_shelf_without_recall_messages_is_no_fault() -> None:
    files = {path: raw for path, raw in FILES.items() if not path.startswith(SHELF)}

    assert problems(read(files, wanted=())) == set()


def test_whoever_cannot_phone_needs_a_way_to_write() -> None:
    found = problems(changed(text=None, email=None))

    assert {one.rpartition(": ")[2] for _, one in found} == {
        "no way to reach the clinic", "no way to reach the clinic without a phone",
    }  # fmt: skip
    assert all("speech:no-phone" in one for _, one in found)
    assert any("missed by sms" in one and one.endswith("a phone") for _, one in found)


def test_a_message_nobody_can_answer_is_found() -> None:
    found = problems(changed(phone=None, text=None, email=None, somebody=None))

    assert any(one.endswith("no way to reach the clinic") for _, one in found)


def test_a_moment_without_words_is_found() -> None:
    found = problems(changed(cancelled=None))

    assert {one for _, one in found if "cancelled" in one and "nothing says" in one}


def test_an_email_without_a_subject_is_found() -> None:
    found = problems(changed(missed=lambda text: text.replace("subject:", "#")))

    assert {one.rpartition(": ")[2] for _, one in found} == {"the e-mail has no subject"}


@pytest.mark.parametrize("where", ["subject", "sms", "body"])
def test_a_word_of_the_ear_is_found_wherever_it_stands(where: str) -> None:
    change: dict[str, Change] = {
        "subject": lambda text: text.replace("to book a visit", "to have your ear seen"),
        "sms": lambda text: text.replace(
            "[reader:self] Your next visit is", "[reader:self] Wax is"
        ),
        "body": lambda text: text.replace(
            "a time that suits", "a time for your surgery that suits"
        ),
    }
    found = problems(changed(invite=change[where]))

    assert {name for name, _ in found} == {"reminder-invite"}
    assert any("not safe on a locked screen" in why for _, why in found)


def test_hard_words_and_long_sentences_are_found() -> None:
    hard = (
        "Subsequent communication regarding administrative reorganisation necessitates immediate "
        "acknowledgement, notwithstanding previously communicated institutional circumstances "
        "affecting individual availability considerations throughout every organisational unit."
    )
    found = problems(changed(letter=lambda text: text + f"\n{hard}\n\n{hard}\n\n{hard}\n"))

    whys = {why for name, why in found if name == "reminder-letter"}
    assert any("words in a sentence" in why for why in whys)
    assert any("Flesch-Kincaid" in why for why in whys)


def test_a_text_of_too_many_parts_is_found() -> None:
    found = problems(
        changed(worse_text=lambda text: text.replace("Contact us", "Please contact us " * 60))
    )

    assert any(why.startswith("sms: ") and "parts, limit 6" in why for _, why in found)


def test_a_translation_that_names_the_ear_is_found_in_its_language() -> None:
    files = dict(FILES)
    path = "locales/pl/LC_MESSAGES/aftercare.po"
    entry = 'msgctxt "reminder-stop-texts"\nmsgid "To stop these texts, tell us."\nmsgstr "{}"\n'
    text = files[path].decode()
    start = text.index('msgctxt "reminder-stop-texts"')
    end = text.index("\n\n", start) if "\n\n" in text[start:] else len(text)
    files[path] = (text[:start] + entry.format("Krople do ucha.") + text[end:]).encode()
    library = read(files, wanted=("pl",))

    assert ("pl", "reminder-stop-texts") in {(f.language, f.block) for f in of_reminders(library)}


@pytest.mark.parametrize("form", ["[one]", "[other]"])
def test_a_word_of_the_ear_is_found_in_either_form_of_a_number(form: str) -> None:
    found = problems(
        changed(length=lambda raw: raw.replace(f"{form} The visit", f"{form} The ear"))
    )

    assert {block for block, _ in found} == {"reminder-length"}


def test_a_form_that_is_too_hard_is_found_though_the_other_is_not() -> None:
    hard = "The visit, notwithstanding considerable organisational difficulties, " * 4
    found = problems(changed(length=lambda raw: raw.replace("[one] The visit", f"[one] {hard}")))

    assert any("words in a sentence" in problem for _, problem in found)
