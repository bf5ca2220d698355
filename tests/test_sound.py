"""What a check stops is said to nobody, whoever approved it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from made_up import TODAY, FakePress, a_case, a_patient, approvals

from aftercare.cli.bootstrap import open_house
from aftercare.cli.catalogues import open_bench, stand
from aftercare.flow import discharge
from aftercare.library.catalogues import parse_catalogue
from aftercare.model import Library, Message, Purpose
from aftercare.proof.translated import State
from aftercare.sound import SoundCatalogues

POLISH = "locales/pl/LC_MESSAGES/aftercare.po"
Key = tuple[str, str]


class Checks:
    """Stops what it is told to of the Polish, and counts how often it is asked."""

    def __init__(self, *stopped: Key) -> None:
        self.stopped, self.asked = stopped, list[Key]()

    def stops(self, language: str, key: Key, targets: Sequence[str], plural: str) -> bool:
        self.asked.append(key)
        return language == "pl" and key in self.stopped


def messages(library: Library, language: str = "pl") -> list[Message]:
    case = a_case(patient=a_patient(language=language))
    done = discharge(case, library, press=FakePress(), today=TODAY, purpose=Purpose.PATIENT)
    return list(done.messages)


def checked(library: Library, checks: Checks) -> Library:
    return replace(library, catalogues=SoundCatalogues(library.catalogues, checks))


def test_a_stopped_sentence_is_as_good_as_missing(translated: Library) -> None:
    key = next(key for key in translated.catalogues["pl"].phrases if key[0] == "urgent-now-call")
    sound = checked(translated, Checks(key))

    for message in messages(sound):
        assert (message.language, message.instead_of) == ("en", "pl")
        assert "translation (pl) not usable: urgent-now-call" in message.findings[0]
    assert key in translated.catalogues["pl"].phrases
    assert key not in sound.catalogues["pl"].phrases
    assert len(sound.catalogues["pl"].phrases) == len(translated.catalogues["pl"].phrases) - 1
    assert {one.language for one in messages(sound, "ur")} == {"ur"}


def test_each_sentence_is_asked_about_once_and_only_if_a_message_needs_it(
    translated: Library,
) -> None:
    checks = Checks()
    sound = checked(translated, checks)

    messages(sound)
    once = list(checks.asked)
    messages(sound)

    assert checks.asked == once
    assert len(set(once)) == len(once) < len(translated.catalogues["pl"].phrases)
    assert not messages(sound, "en")[0].instead_of
    assert checks.asked == once


def test_nothing_else_of_a_sound_catalogue_changes(translated: Library) -> None:
    sound = checked(translated, Checks())

    assert [one.body for one in messages(sound)] == [one.body for one in messages(translated)]
    assert dict(sound.catalogues["pl"].phrases) == translated.catalogues["pl"].phrases
    assert list(sound.catalogues) == list(translated.catalogues)
    assert len(sound.catalogues) == len(translated.catalogues)
    assert "sv" not in sound.catalogues


def house(home: Path, files: Mapping[str, bytes]) -> Library:
    for name, raw in files.items():
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_bytes(raw)
    return open_house(str(home)).library


def with_a_denial_too_many(raw: bytes) -> tuple[Key, bytes]:
    """The Polish catalogue with the call for help forbidden, and the source of that sentence."""
    phrases = parse_catalogue("pl", POLISH, raw, None).phrases
    key = next(one for one in phrases if one[0] == "urgent-now-call" and "{" in one[1])
    said = phrases[key].phrase.msgid
    wrong = raw.replace(said.encode(), said.replace("{", "nie {", 1).encode())
    assert wrong != raw
    return key, wrong


def test_an_approved_sentence_that_a_check_stops_is_as_good_as_missing(
    approved_shelf: Mapping[str, bytes], tmp_path: Path
) -> None:
    """Through the door's own wiring, with the checks as they ship."""
    key, wrong = with_a_denial_too_many(approved_shelf[POLISH])
    signed = {POLISH: wrong, "locales/pl/approvals.toml": approvals("pl", POLISH, wrong)}

    before = house(tmp_path / "before", approved_shelf)
    after = house(tmp_path / "after", {**approved_shelf, **signed})

    assert before.catalogues["pl"].phrases[key].approved
    assert key not in after.catalogues["pl"].phrases
    assert {one.language for one in messages(before)} == {"pl"}
    assert {one.language for one in messages(after)} == {"en"}


def test_release_leaves_out_what_the_status_calls_blocked(
    approved_shelf: Mapping[str, bytes], tmp_path: Path
) -> None:
    key, wrong = with_a_denial_too_many(approved_shelf[POLISH])
    library = house(tmp_path, {**approved_shelf, POLISH: wrong})
    whole = parse_catalogue("pl", POLISH, wrong, None).phrases

    blocked = set(stand(open_bench(str(tmp_path)), "pl").of(State.BLOCKED))

    assert key in blocked
    assert whole.keys() - library.catalogues["pl"].phrases.keys() == blocked
