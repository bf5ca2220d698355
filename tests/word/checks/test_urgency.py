"""How soon to get help: at once stays at once, the same day the same day."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]


@pytest.mark.parametrize(
    ("source", "target", "language", "found"),
    [
        ("Call 999 now.", "Proszę natychmiast dzwonić pod 999.", "pl", False),
        ("Call 999 now.", "Proszę dzwonić pod 999.", "pl", True),
        ("Contact us the same day.", "Melden Sie sich am selben Tag.", "de", False),
        ("Contact us the same day.", "Melden Sie sich bei uns.", "de", True),
        ("The ear is now clear.", "Ucho jest już czyste.", "pl", False),
        ("Contact us that day.", "请联系我们。", "zh", True),
        ("Tell us before that day.", "请在那天之前告诉我们。", "zh", False),
        ("Tell us before that day.", "Powiedz nam wcześniej.", "pl", False),
        ("Call us now, before that day.", "Proszę dzwonić.", "pl", True),
        ("Contact us the same day.", "تواصلوا معنا قبل ذلك اليوم.", "ar", True),
        ("Contact us the same day.", "اس دن سے پہلے ہم سے رابطہ کریں۔", "ur", True),
    ],
)
def test_what_asks_for_help_keeps_how_soon(
    source: str, target: str, language: str, found: bool, kinds: Kinds
) -> None:
    assert ("urgency" in kinds(source, target, language)) is found


@pytest.mark.parametrize(
    ("source", "target", "language", "found"),
    [
        ("Do not fly. If you must, call us first.", "Nu zburați.", "ro", True),
        ("Do not fly. If you must, call us first.", "Nu zburați. Sunați-ne întâi.", "ro", False),
        ("Is it sore? Tell us.", "¿Le duele el oído?", "es", True),
        ("Is it sore? Tell us.", "¿Le duele el oído? Avísenos.", "es", False),
        ("We told you about drops.", "Le hablamos de las gotas.", "es", False),
    ],
)
def test_a_call_to_get_in_touch_that_is_gone_is_asked_about(
    source: str, target: str, language: str, found: bool, kinds: Kinds
) -> None:
    assert ("contact" in kinds(source, target, language)) is found
