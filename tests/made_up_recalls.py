"""Made up for tests: a recall, whoever it is for, and the shipped plan with a clinic's calendar."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from hypothesis import strategies as st
from made_up import HOME

from aftercare.edges.reminder_plan import PLACE, parse_reminder_plan
from aftercare.library.settings import parse_clinic
from aftercare.model import Channel, Interval, Moment
from aftercare.recall.dates import closure
from aftercare.recall.people import News, Person, Recall, RecallState, Standing
from aftercare.recall.steps import APPOINTMENT, RECALL, Days, Planner

CONDITIONS = frozenset(
    f"condition:{name}"
    for name in ("open-cavity", "wax", "otitis-externa", "perforation", "grommet")
)
CLINIC = parse_clinic("shared/clinic.toml", (HOME / "shared/clinic.toml").read_bytes())
PLAN = parse_reminder_plan((HOME / PLACE).read_bytes(), CONDITIONS)
PLANNER = Planner(
    plan=PLAN,
    days=Days(lambda day: closure(day, CLINIC), PLAN.hours),
    zone=CLINIC.timezone,
)
ZONES = ("Europe/London", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia", None)
NEEDS = ("need:deaf", "need:hard-of-hearing", "need:cannot-phone", "format:large-print")


def a_person(**changes: Any) -> Person:
    """An adult who can be reached on every channel and hears."""
    made: dict[str, Any] = {
        "ref": "P-1",
        "first_name": "Robin",
        "last_name": "Ash",
        "language": "en",
        "mobile": "+447700900101",
        "email": "robin@x.example",
        "address": ("1 Sample Street", "Larkfield"),
        "agreed": frozenset(Channel),
    }
    return Person(**{**made, **changes})


def a_recall(**changes: Any) -> Recall:
    """An open recall with a number."""
    made: dict[str, Any] = {
        "id": 7,
        "person": "P-1",
        "anchor": date(2026, 9, 10),
        "interval": Interval(months=6),
        "due": date(2027, 3, 10),
        "condition": "condition:wax",
    }
    return Recall(**{**made, **changes})


@st.composite
def people(draw: st.DrawFn) -> Person:
    """Anybody: with and without each way to be reached, each consent and each refusal."""
    pairs = [(topic, channel) for topic in (RECALL, APPOINTMENT) for channel in Channel]
    return a_person(
        mobile=draw(st.sampled_from(["+447700900101", None])),
        email=draw(st.sampled_from(["robin@x.example", None])),
        address=draw(st.sampled_from([("1 Sample Street",), ()])),
        agreed=draw(st.frozensets(st.sampled_from(Channel))),
        opted_out=draw(st.frozensets(st.sampled_from(pairs))),
        facts=draw(st.frozensets(st.sampled_from(NEEDS))),
        household=draw(st.sampled_from(["h", None])),
        zone=draw(st.sampled_from(ZONES)),
        standing=draw(st.sampled_from([Standing.READY] * 4 + [Standing.SILENT, Standing.HOLD])),
        reasons=draw(st.sampled_from([(), ("no consent",)])),
    )


# Moments to the second, as the register keeps them.
_MOMENTS = st.datetimes(datetime(2026, 10, 1), datetime(2028, 1, 1)).map(  # noqa: DTZ001
    lambda at: at.replace(tzinfo=UTC, microsecond=0)
)


@st.composite
def recalls(draw: st.DrawFn) -> Recall:
    """Any recall the register may hold: scheduled with or without a visit, waiting, closed."""
    state = draw(st.sampled_from([RecallState.SCHEDULED] * 4 + [*RecallState]))
    open_ = state is RecallState.SCHEDULED
    booked = draw(st.none() | _MOMENTS) if open_ else None
    return a_recall(
        due=draw(st.dates(date(2026, 10, 1), date(2027, 12, 31))),
        condition=draw(st.sampled_from([*sorted(CONDITIONS), None])),
        state=state,
        waiting_on="Sam Field" if state is RecallState.WAITING else None,
        because=None if open_ else "made up",
        booked=booked,
        told=draw(st.booleans()),
        news=draw(st.none() | _news(booked)),
    )


@st.composite
def _news(draw: st.DrawFn, booked: datetime | None) -> News:
    """What may have become of a visit that is booked, or is not any more."""
    with_visit = [None, Moment.BOOKED, Moment.CHANGED]
    moments = [None, Moment.CANCELLED, Moment.MISSED] if booked is None else with_visit
    return News(
        on=draw(st.dates(date(2026, 10, 1), date(2027, 12, 31))),
        moment=draw(st.sampled_from(moments)),
        former=draw(_MOMENTS),
        changes=draw(st.integers(0, 3)),
    )
