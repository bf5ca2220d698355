"""How long a text gets, and which lines somebody loses: held against the texts themselves."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from made_up import TODAY, FakePress
from made_up_blocks import block
from strategies import cases

from aftercare.flow import discharge
from aftercare.model import Case, Channel, Library, Message, Purpose, Role
from aftercare.proof.programme import Programme
from aftercare.proof.reach import Reach
from aftercare.proof.space import Asked
from aftercare.proof.spoken import PAGES, TEXTS, Speech
from aftercare.proof.texts import Length, Texts, texts
from aftercare.proof.witness import case_of
from aftercare.render.gsm import count

Made = Callable[..., Library]


def proved(library: Library, language: str = "en") -> Texts:
    return texts(Speech(Reach(library), language, TEXTS), Programme(library))


def sent(case: Case, library: Library) -> Message:
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.PATIENT,
        channels=[Channel.SMS],
    )  # fmt: skip
    return done.messages[0]


def line(name: str, words: str, **more: Any) -> str:
    rank = more.pop("rank", 10)
    text = block(name, "A.\n", more=f'sms: "{words}"\n', **more)
    return text.replace("rank: 10", f"rank: {rank}")


def cut(small: Any, library: Library, parts: int = 6, wide: int = 12) -> Library:
    made = small(
        library, condition=("wax", "grommet"), procedure=("suction",), caution=("diabetes",),
        texts=("detail", "shared-phone"), routes=("sms", "print"), text_number=True,
    )  # fmt: skip
    limits = replace(made.limits, sms_parts=parts, sms_parts_ucs2=wide)
    found: Library = replace(made, limits=limits)
    return found


SHELF = (
    line("urgent", "U" * 100, kind="urgent"),
    line("contact", "C" * 60, kind="contact", given="age:child"),
    line("care", "K" * 120, given="condition:wax", rank=20),
    line("water", "W" * 90, kind="water", given="condition:grommet", rank=30),
    line("recall", "R" * 80, kind="recall", withheld="caution:diabetes", rank=40),
    line("others", "O" * 50 + "€", kind="others", given="texts:detail", rank=25),
    block("both", "A.\n", kind="normal", given="condition:wax",
          more=f'sms: "N"\nsms_detail: "{"D" * 70}"\n'),
)  # fmt: skip


@pytest.fixture(scope="module")
def walked(shelf_of: Made, small: Any) -> tuple[Library, dict[frozenset[Asked], Case]]:
    library = cut(small, shelf_of(*SHELF))
    return library, {
        held: case for held, case in small.everybody(library).items()
        if Channel.SMS in case.patient.agreed
    }  # fmt: skip


@pytest.mark.parametrize("parts", [1, 2, 3, 4])
def test_the_longest_is_the_longest_and_what_is_dropped_is_dropped(
    parts: int, walked: tuple[Library, Mapping[frozenset[Asked], Case]]
) -> None:
    whole, people = walked
    library = replace(whole, limits=replace(whole.limits, sms_parts=parts))
    unlimited = replace(whole, limits=replace(whole.limits, sms_parts=99))
    found = proved(library)
    sizes = {held: sent(case, unlimited).sms for held, case in people.items()}
    units = {held: size.units for held, size in sizes.items() if size is not None}
    dropped = {name for case in people.values() for name in sent(case, library).dropped}

    assert found.whole.size.units == max(units.values()) == units[found.whole.held]
    assert found.whole.size.parts == max(size.parts for size in sizes.values() if size)
    assert set(found.droppable) == dropped
    assert bool(dropped) is (parts < 4)
    # The least needed last, as they go.
    ranks = {one.id: (one.rank, one.id) for one in library.blocks}
    assert list(found.droppable) == sorted(found.droppable, key=lambda name: ranks[name])
    vital = len("Larkfield Clinic:\n") + 100 + 1 + 60
    assert found.vital.size == Length(vital, 0, needs_wide=False)
    assert Asked("age:child") in found.vital.held


def test_a_text_in_a_larger_alphabet_is_counted_and_held_to_its_own_limit(
    shelf_of: Made, small: Any
) -> None:
    """One line that needs it makes every line beside it cost more."""
    lines = [
        line("plain", "P" * 200, kind="normal"),
        line("wide", "ж" * 50, kind="others", given="caution:diabetes", rank=90),
    ]
    library = cut(small, shelf_of(*lines), parts=2, wide=4)
    found = proved(library)

    assert found.whole.size.needs_wide
    assert Asked("caution:diabetes") in found.whole.held
    unlimited = replace(library, limits=replace(library.limits, sms_parts_ucs2=99))
    size = sent(case_of(found.whole.held, "en", TODAY), unlimited).sms
    assert size is not None
    assert (size.encoding, size.units) == ("UCS-2", found.whole.size.units)
    assert size.parts == found.whole.size.parts == 5
    # Without the line that needs the alphabet, all the rest fits.
    assert found.droppable == sent(case_of(found.whole.held, "en", TODAY), library).dropped
    assert found.droppable == ("wide",)


def test_of_two_alphabets_the_one_over_its_limit_is_told(shelf_of: Made, small: Any) -> None:
    """More parts in one alphabet may be fine where fewer in the other are too many."""
    lines = [
        line("plain", "P" * 400, kind="normal", withheld="caution:diabetes"),
        line("wide", "ж" * 190, kind="normal", given="caution:diabetes"),
    ]
    library = cut(small, shelf_of(*lines), parts=2, wide=12)
    found = proved(library)

    assert not found.whole.size.fits(library)
    assert (found.whole.size.parts, found.whole.size.needs_wide) == (3, False)
    assert found.droppable[0] == "plain"
    assert sent(case_of(found.whole.held, "en", TODAY), library).dropped == ("plain",)


def test_a_clinic_that_texts_nobody_has_no_text(shelf_of: Made, small: Any) -> None:
    library = small(shelf_of(*SHELF), procedure=("suction",), routes=("print",))

    found = proved(library)

    assert (found.whole.size.units, found.whole.held, found.droppable) == (0, frozenset(), ())


@pytest.mark.parametrize(
    ("units", "wide", "parts"),
    [(160, False, 1), (161, False, 2), (306, False, 2), (307, False, 3),
     (70, True, 1), (71, True, 2), (134, True, 2), (135, True, 3)],
)  # fmt: skip
def test_parts_are_as_the_standard_cuts_them(units: int, wide: bool, parts: int) -> None:
    """3GPP TS 23.040 R18, section 9.2.3.24.1: 153 septets or 67 UCS-2 characters to a part."""
    assert Length(units, units, needs_wide=wide).parts == parts
    assert count(("ж" if wide else "x") * units).parts == parts


# --- the shelf as it stands ---------------------------------------------------------------------
@pytest.fixture(scope="module")
def of_shelf(library: Library) -> Texts:
    return proved(library)


@settings(max_examples=150, deadline=None)
@given(case=cases())
def test_no_real_text_is_longer_or_loses_what_it_is_not_told_to(
    library: Library, of_shelf: Texts, case: Case
) -> None:
    message = sent(replace(case, patient=replace(case.patient, mobile="07700 900123")), library)
    unlimited = replace(library, limits=replace(library.limits, sms_parts=99, sms_parts_ucs2=99))
    whole = sent(case, unlimited).sms

    assert set(message.dropped) <= set(of_shelf.droppable)
    assert whole is None or whole.units <= of_shelf.whole.size.units
    assert whole is None or whole.parts <= of_shelf.whole.size.parts


def test_the_longest_real_text_is_as_long_but_for_its_date(
    library: Library, of_shelf: Texts
) -> None:
    unlimited = replace(library, limits=replace(library.limits, sms_parts=99, sms_parts_ucs2=99))
    size = sent(case_of(of_shelf.whole.held, "en", TODAY), unlimited).sms

    assert size is not None
    assert 0 <= of_shelf.whole.size.units - size.units <= len("Wednesday, 30 September 2027")
    vital = set(of_shelf.droppable) & {
        b.id for b in library.blocks if b.kind in ("urgent", "contact")
    }
    assert vital == set()


def test_a_text_is_proved_with_short_dates_and_a_page_with_full_ones(library: Library) -> None:
    """As ``word`` tells them: a page measured with short ones would be taken to have room."""
    (agreed,) = (one for one in library.blocks if one.id == "recall-agreed")
    assert agreed.sms is not None
    reach, phrase = Reach(library), agreed.sms.variants[0].phrase

    def dates(channels: Sequence[Channel]) -> list[str]:
        line = Speech(reach, "en", channels).say("recall-agreed", phrase)
        assert line is not None
        return [span.text for span in line.spans if span.role is Role.DATE]

    (text,), (page,) = dates(TEXTS), dates(PAGES)
    # Of any day: CLDR 47 has Sept alone of its short names in four letters.
    assert re.fullmatch(r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun), 2\d Sept 2027", text)
    assert re.fullmatch(r"Wednesday, 2\d September 2027", page)
