"""The quick way gives the plain way's messages: byte for byte, whoever is written to."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from email.message import EmailMessage
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_up import FakePress
from made_up_recalls import a_person
from made_up_reminders import START, TIMES, an_order

from aftercare.errors import BadText
from aftercare.model import Channel, Library, Moment, Purpose, Status
from aftercare.recall.people import Person
from aftercare.recall.steps import APPOINTMENT, RECALL
from aftercare.reminding import Forms, Order, Reminding, Visit
from aftercare.render.email import deliverable
from aftercare.render.reminder_email import POLICY
from aftercare.render.reminder_form import encoded, quick_address

LANGUAGES = ("en", "pl", "ur", "ar", "pa", "bn", "zh", "de", "pt_BR", "ur_PK", "tr", "cy")
# What breaks headers, markup, templates, quoted-printable, bidi, SMS alphabets and our own holes.
HOSTILE = (
    "Robin", "", "O'Brien", "O’Brien", "Zoë", "=?utf-8?q?x?=", "=20=\t", " x ", "<b>&amp;\"'</b>",
    "{{ 7*7 }}", "{first_name}", "\ue000first_name\ue001", "محمد", "אבג", "\u202eevil\u2069",
    "\u2067", "王小明", "👂🏽", "a" * 200, "é" * 90, "\u00a0x\u00ad", "ﷺ", "ó\u0301", ".", "--=_x",
    "From x", "5eed" * 10, "aftercare-text", "A\nB", "A\rB", "A\0B", "A\x85B", "A\u2028B", "\ud800",
    "[x](y)", "~^€", "x\u200b", "Wax",
)  # fmt: skip
NAMES = st.sampled_from(HOSTILE) | st.text(max_size=40)
ADDRESSES = st.sampled_from(
    (
        "robin@x.example", "Robin.Ash+x@X.Example", "r_-a@x.example", "a..b@x.example",
        "\"a b\"@x.example", "o'brien@x.example", "ü@x.example", "a@bücher.example", "a@x", "a@",
        f"{'a' * 64}@x.example", f"{'a' * 65}@x.example", f"a@{'x' * 63}.{'y' * 40}.example",
        "a@-x.example", "a@xn--bcher-kva.example", "a@x.example\r\nBcc: b@x.example", "a@[1.2.3.4]",
        "a b@x.example", "a@x.example,b@x.example", "=?utf-8?q?a?=@x.example", "a@x..example",
    )
) | st.none()  # fmt: skip
NEEDS = ("need:deaf", "need:cannot-phone", "texts:shared-phone", "format:large-print", "age:child")
PAIRS = [(topic, channel) for topic in (RECALL, APPOINTMENT) for channel in Channel]


@st.composite
def people(draw: st.DrawFn) -> Person:
    return a_person(
        first_name=draw(NAMES),
        last_name=draw(NAMES),
        language=draw(st.sampled_from(LANGUAGES)),
        email=draw(ADDRESSES),
        mobile=draw(st.sampled_from(["+447700900101", "+447700900101", None])),
        born=draw(st.none() | st.dates(date(2008, 2, 20), date(2013, 3, 5))),
        facts=draw(st.frozensets(st.sampled_from(NEEDS), max_size=2)),
        opted_out=draw(st.just(frozenset()) | st.frozensets(st.sampled_from(PAIRS), max_size=2)),
    )


@st.composite
def orders(draw: st.DrawFn) -> Order:
    moment = draw(st.sampled_from(list(Moment)))
    channel = draw(st.sampled_from([Channel.SMS, Channel.EMAIL]))
    start = draw(
        st.datetimes(datetime(2027, 1, 1), datetime(2028, 12, 31)).map(  # noqa: DTZ001
            lambda at: at.replace(tzinfo=UTC, second=0, microsecond=0)
        )
    )
    changes: dict[str, Any] = {
        "key": f"{draw(st.integers(1, 10**7))}/{moment}/2027-03-10",
        "condition": draw(st.sampled_from(["condition:wax", "condition:open-cavity", None])),
        "on": draw(st.sampled_from([date(2027, 1, 27), date(2027, 2, 28), date(2029, 1, 1)])),
        "days": {
            "due_date": start.date(), "answer_by_date": start.date() - timedelta(days=9),
        },
    }  # fmt: skip
    if moment in TIMES and draw(st.booleans()):
        changes["times"] = dict.fromkeys(TIMES[moment], start)
        changes["visit"] = Visit(
            recall=draw(st.integers(1, 10**7)), start=start,
            minutes=draw(st.sampled_from([1, 2, 20, 35])), sequence=draw(st.integers(0, 10**4)),
            stamp=datetime(2027, 1, 27, 9, tzinfo=UTC),
        )  # fmt: skip
    return an_order(moment, channel, person=draw(people()), **changes)


class Both:
    """The two ways on one shelf, for one purpose."""

    def __init__(self, library: Library, purpose: Purpose) -> None:
        self.plain = Reminding(library, FakePress(), purpose)
        self.quick = Forms(Reminding(library, FakePress(), purpose))

    def agree(self, order: Order) -> None:
        assert self.quick.write(order) == self.plain.write(order)
        assert self.quick.refusals(order) == self.plain.refusals(order)


@pytest.fixture(scope="module")
def patient(approved: Library) -> Both:
    return Both(approved, Purpose.PATIENT)


@pytest.fixture(scope="module")
def sample(library: Library) -> Both:
    return Both(library, Purpose.SAMPLE)


SLOW = settings(
    deadline=None, max_examples=250, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@SLOW
@given(orders())
def test_whatever_is_ordered_both_ways_write_the_same(patient: Both, order: Order) -> None:
    patient.agree(order)


@settings(SLOW, max_examples=80)
@given(orders())
def test_samples_of_drafts_too(sample: Both, order: Order) -> None:
    sample.agree(order)


@pytest.mark.parametrize("name", HOSTILE)
def test_each_hostile_name_in_text_and_page(patient: Both, name: str) -> None:
    for language in ("en", "ur"):
        for moment in (Moment.INVITE, Moment.BEFORE):
            for channel in (Channel.SMS, Channel.EMAIL):
                person = a_person(first_name=name, last_name=name, language=language)
                patient.agree(an_order(moment, channel, person=person))


def test_drafts_are_withheld_with_the_same_reasons(library: Library) -> None:
    ways = Both(library, Purpose.PATIENT)
    for channel in (Channel.SMS, Channel.EMAIL):
        order = an_order(channel=channel)
        ways.agree(order)
        assert ways.quick.write(order).status is Status.WITHHELD


def test_one_start_is_one_file_but_for_the_visit(patient: Both) -> None:
    order = an_order(Moment.BEFORE, Channel.EMAIL)
    assert order.visit is not None
    # 31 October 2027, 01:30 comes twice in London, an hour apart.
    twice = START.replace(month=10, day=31, hour=1)
    for recall, sequence, start in ((1, 0, START), (2, 99, START), (3, 100, twice),
                                    (4, 7, twice.replace(fold=1)), (4, 8, twice)):  # fmt: skip
        visit = replace(order.visit, recall=recall, sequence=sequence, start=start)
        patient.agree(replace(order, visit=visit, times={"appointment": start}))


def test_a_text_over_the_limit_says_so_both_ways(approved: Library) -> None:
    limits = replace(approved.limits, sms_parts=1, fkgl=0.1)
    ways = Both(replace(approved, limits=limits), Purpose.PATIENT)
    for channel in (Channel.SMS, Channel.EMAIL):
        order = an_order(channel=channel, person=a_person(language="en"))
        ways.agree(order)
        assert ways.quick.write(order).findings


@pytest.mark.parametrize("end", [" ", "\t", "=", "x" * 75, "x" * 76, "x" * 77 + " ", "é" * 30])
def test_a_line_is_encoded_as_the_library_does(end: str) -> None:
    line = f"Robin{end}"
    mail = EmailMessage(policy=POLICY)
    mail.set_content(f"{line}\n", cte="quoted-printable")

    assert encoded(line) == mail.as_bytes().partition(b"\r\n\r\n")[2]


def test_a_letter_goes_the_plain_way(patient: Both) -> None:
    patient.agree(an_order(channel=Channel.PRINT))


def test_a_form_is_not_taken_for_another_day_language_or_reader(patient: Both) -> None:
    order = an_order(Moment.BEFORE, Channel.EMAIL)
    patient.quick.write(order)
    for other in (
        replace(order, on=date(2027, 1, 28)),
        replace(order, person=replace(order.person, language="pl")),
        replace(order, person=replace(order.person, facts=frozenset({"need:deaf"}))),
        replace(order, person=replace(order.person, born=date(2020, 1, 1))),
        replace(order, times={"appointment": START + timedelta(days=1)}),
    ):
        patient.agree(other)
        assert patient.quick.write(other).body != patient.quick.write(order).body
    asked = an_order(Moment.INVITE, Channel.EMAIL)
    cavity = replace(asked, condition="condition:open-cavity")
    patient.agree(cavity)
    assert patient.quick.write(cavity).body != patient.quick.write(asked).body


@pytest.mark.parametrize(
    ("born", "on"),
    [
        (date(2011, 1, 27), date(2027, 1, 27)), (date(2011, 1, 28), date(2027, 1, 27)),
        (date(2012, 2, 29), date(2028, 2, 28)), (date(2012, 2, 29), date(2028, 2, 29)),
        (date(2010, 12, 31), date(2027, 1, 1)), (date(2011, 12, 31), date(2027, 1, 1)),
    ],
)  # fmt: skip
def test_sixteen_is_the_same_day_on_both_ways(patient: Both, born: date, on: date) -> None:
    patient.agree(an_order(channel=Channel.EMAIL, on=on, person=a_person(born=born)))


@given(st.text("ab.-_+@AXé\"' ", max_size=30) | ADDRESSES.filter(bool))
def test_a_quick_address_is_what_the_library_makes_of_it(address: str) -> None:
    quick = quick_address(address)
    if quick is not None:
        assert quick == deliverable("x", address)


def test_what_the_library_refuses_is_no_quick_address() -> None:
    for address in ("a..b@x.example", "a@-x.example", "a@", "", "a b@x.example"):
        with pytest.raises(BadText):
            deliverable("x", address)
        assert quick_address(address) is None
    assert quick_address("robin@x.example") == "robin@x.example"
