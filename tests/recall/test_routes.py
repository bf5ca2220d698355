"""How somebody can be reached, said outright: each lack and each refusal by itself."""

from __future__ import annotations

import pytest
from made_up_recalls import a_person

from aftercare.model import Channel
from aftercare.recall.routes import Means, all_barred, barred, first_usable, ways
from aftercare.recall.steps import APPOINTMENT, RECALL

EVERY = tuple(Channel)


@pytest.mark.parametrize(
    ("channel", "lacking", "why"),
    [
        (Channel.SMS, {"mobile": None}, "no mobile number"),
        (Channel.EMAIL, {"email": None}, "no e-mail address"),
        (Channel.PRINT, {"address": ()}, "no address"),
        (Channel.SMS, {"agreed": frozenset({Channel.EMAIL})}, "not agreed to"),
        (Channel.PRINT, {"opted_out": frozenset({(RECALL, Channel.PRINT)})}, "opted out"),
    ],
)
def test_each_lack_and_each_refusal_bars_its_own_channel(
    channel: Channel, lacking: dict[str, object], why: str
) -> None:
    person = a_person(**lacking)

    assert barred(a_person(), channel, RECALL) is None
    assert barred(person, channel, RECALL) == why


def test_an_opt_out_is_of_one_topic_by_one_channel() -> None:
    person = a_person(opted_out=frozenset({(RECALL, Channel.SMS)}))

    assert barred(person, Channel.SMS, APPOINTMENT) is None
    assert first_usable(person, EVERY, RECALL) is Channel.EMAIL


def test_channels_are_tried_in_their_order_and_all_reasons_are_told() -> None:
    nowhere = a_person(mobile=None, email=None, address=())

    assert first_usable(a_person(), (Channel.PRINT, Channel.SMS), RECALL) is Channel.PRINT
    assert first_usable(nowhere, EVERY, RECALL) is None
    assert all_barred(nowhere, EVERY, RECALL) == (
        "sms: no mobile number; email: no e-mail address; print: no address"
    )


@pytest.mark.parametrize("need", ["need:deaf", "need:hard-of-hearing", "need:cannot-phone"])
def test_a_person_of_the_clinic_phones_nobody_who_cannot_hear_it(need: str) -> None:
    assert ways(a_person(), Means, RECALL) == tuple(Means)
    assert ways(a_person(facts=frozenset({need})), Means, RECALL) == (
        Means.LETTER, Means.TEXT, Means.EMAIL,
    )  # fmt: skip
    assert ways(a_person(mobile=None), Means, RECALL) == (Means.LETTER, Means.EMAIL)
