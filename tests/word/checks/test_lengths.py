"""Length: what breaks off, what is far too long, what costs too many SMS parts."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercare.word.checks import Medium

Kinds = Callable[..., set[str]]
LONG = "Keep the left ear dry for three days. Do not swim. Ask us if you are not sure what to do."


@pytest.mark.parametrize(
    ("source", "target", "found"),
    [
        ("Keep it dry.", "Chronić przed wodą.", set()),
        ("Keep it dry.", "Chronić przed", {"truncated"}),
        ("Keep it dry.", "Chronić przed wodą!", set()),
        ("**Keep it dry.**", "**Chronić przed wodą.**", set()),
        (LONG, "Chronić lewe ucho przez trzy dni.", {"truncated"}),
        (LONG, "Nie.", {"truncated"}),
        ("Page", "Strona", set()),
        ("Keep it dry.", "Chronić przed wodą. " * 6, {"length"}),
    ],
)
def test_length_tells_of_what_is_missing_or_too_much(
    source: str, target: str, found: set[str], kinds: Kinds
) -> None:
    assert kinds(source, target, "pl") & {"truncated", "length"} == found


def test_an_sms_is_held_to_its_parts(kinds: Kinds) -> None:
    target = "ą" * 71  # 70 in one part of UCS-2, TS 23.040

    assert "sms" in kinds("Hello", target, "pl", medium=Medium.SMS, limit=1)
    assert "sms" not in kinds("Hello", target, "pl", medium=Medium.SMS, limit=2)
    assert "sms" not in kinds("Hello", target, "pl", limit=1)


@pytest.mark.parametrize("space", ["\u00a0", "\u202f"])
def test_a_special_space_is_refused_in_an_sms_alone(space: str, kinds: Kinds) -> None:
    assert "sms" in kinds("9 o'clock", f"9{space}h", "fr", medium=Medium.SMS)
    assert "sms" not in kinds("9 o'clock", f"9{space}h", "fr")
