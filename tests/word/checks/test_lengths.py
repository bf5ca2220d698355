"""Length: what breaks off, what is far too long, what costs too many SMS parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from scripts.written import house, written
from word.checks.seed import LANGUAGES, run_on, shipped

from aftercare.model import Line, Shape, Span
from aftercare.render.leaflet import Row, ruler_data
from aftercare.word.checks import Medium
from aftercare.word.checks.lengths import (
    _FILLED,
    _SLOTS,
    PAGE,
    outgrows,
    page_lines,
)

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
        (LONG, "Chronić lewe ucho przez trzy dni. Nie pływać ani nie nurkować.", {"sentence"}),
        ("Worse? Call us.", "Jeśli jest gorzej, proszę do nas dzwonić.", set()),
        ("Is it worse when you lie down? Call us.", "Proszę do nas dzwonić.", {"sentence"}),
        ("Rest. Worse? Call us.", "Jeśli jest gorzej, proszę do nas dzwonić.", {"sentence"}),
        ("Rest at home. Is that clear?", "Proszę odpoczywać w domu.", {"sentence"}),
        (LONG, "Nie.", {"truncated"}),
        ("Page", "Strona", set()),
        ("Keep it dry.", "Chronić przed wodą. " * 6, {"length", "twice"}),
        ("Keep it dry.", "Chronić przed wodą. Chronić przed wodą.", {"twice"}),
        ("Rest. Rest.", "Odpoczywać. Odpoczywać.", set()),
    ],
)
def test_length_tells_of_what_is_missing_or_too_much(
    source: str, target: str, found: set[str], kinds: Kinds
) -> None:
    told = kinds(source, target, "pl")
    assert told & {"truncated", "sentence", "length", "twice"} == found


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_long_sentence_said_twice_is_told_for_the_lines_it_takes(language: str) -> None:
    """In every shipped catalogue; Chinese and Panjabi take fewer lines than English does, so that
    said twice a sentence may still fit there."""
    long = [pair for pair in shipped(language) if len(pair.source) >= 150]
    bad = [replace(pair, target=target) for pair in long for target in run_on(pair)]
    told = [pair for pair in bad if PAGE in {one.kind for one in outgrows(pair)}]

    assert len(bad) == len(long) > 15
    assert len(told) >= len(bad) * (0 if language in ("pa", "zh") else 0.9)
    assert [pair.id for pair in shipped(language) if list(outgrows(pair))] == []
    assert [pair.id for pair in bad if list(outgrows(replace(pair, medium=Medium.SMS)))] == []


@pytest.mark.parametrize("language", ["ar", "bn", "de", "zh"])
def test_lines_are_reckoned_within_one_of_what_the_press_makes(language: str) -> None:
    """Every shipped sentence, set in large print in the widest column there is."""
    told = [_SLOTS.sub(_FILLED, one.target).replace("**", "") for one in shipped(language)]
    rows = [Row(Line((Span(one),), "b", True), Shape.PARAGRAPHS, boxed=False) for one in told]
    frame = written(language).done.worded
    data = ruler_data([frame], rows, clinic="-", point=18, edition="-")
    found = house().press.heights(data).rows
    # The space between lines in ``templates/leaflet.typ``, closest.
    space = 0.7 * (0.85 if frame.direction == "rtl" else 0.75) * 18
    pressed = [round((whole + space) / (line + space)) for whole, line in found]

    assert max(pressed) > 2
    assert {page_lines(one) - many for one, many in zip(told, pressed, strict=True)} <= {-1, 0, 1}


def test_an_sms_is_held_to_its_parts(kinds: Kinds) -> None:
    target = "ą" * 71  # 70 in one part of UCS-2, TS 23.040

    assert "sms" in kinds("Hello", target, "pl", medium=Medium.SMS, limit=1)
    assert "sms" not in kinds("Hello", target, "pl", medium=Medium.SMS, limit=2)
    assert "sms" not in kinds("Hello", target, "pl", limit=1)


@pytest.mark.parametrize("space", ["\u00a0", "\u202f"])
def test_a_special_space_is_refused_in_an_sms_alone(space: str, kinds: Kinds) -> None:
    assert "sms" in kinds("9 o'clock", f"9{space}h", "fr", medium=Medium.SMS)
    assert "sms" not in kinds("9 o'clock", f"9{space}h", "fr")
