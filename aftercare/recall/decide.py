"""What people decide on the list: each decision as the changes it makes, or the refusal of it.

Nobody is dropped by a decision: a recall is scheduled, waits on a named person or is closed with
a reason after each of them, and who needs care for life has another one open.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice

from aftercare.errors import BadInput
from aftercare.model import Channel, Clinic, Fact, Interval, RecallMonths
from aftercare.recall.consent import is_aside, is_lack
from aftercare.recall.dates import due, in_words
from aftercare.recall.figures import Figure
from aftercare.recall.figures import Standing as Usual
from aftercare.recall.people import News, Person, Recall, RecallState, Standing, Topic, What
from aftercare.recall.port import Swap
from aftercare.recall.promise import limit
from aftercare.recall.risk import RiskOrder
from aftercare.recall.routes import first_usable
from aftercare.recall.steps import RECALL, Days

# Why a recall waits whose patient a list silenced, and why such a patient is silent.
SILENCED = "may not be contacted"
# How the reason of somebody begins who agreed later; `edges.register.intake` looks for it.
AGREED = "consent recorded on "
# How a reason begins; what somebody added follows after a colon.
CAME, MOVED, DIED = "came", "moved away", "died"
NO_FIGURE = Interval()
WHY_WAITING = "nobody has said yet when the next visit is due"


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """One patient as the register has them now, with every recall, open and closed."""

    person: Person
    recalls: tuple[Recall, ...]

    @property
    def open(self) -> tuple[Recall, ...]:
        """The recalls that are not closed."""
        return tuple(one for one in self.recalls if one.state is not RecallState.CLOSED)

    def refused(self, problem: str, remedy: str) -> BadInput:
        """A refusal that names the patient by reference alone."""
        return BadInput(self.person.ref, problem, f"{remedy}; nothing was changed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing that happens to a patient. ``details`` are dates and codes, never prose."""

    what: What
    swaps: tuple[Swap, ...]
    details: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What one decision does to one patient; no acts when it changes nothing."""

    ref: str
    acts: tuple[Act, ...]
    said: tuple[str, ...]


# --- putting off ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOff:
    """Not before ``until``; ``because`` is needed past a hard limit, or if a visit is booked."""

    until: date
    because: str | None
    risks: RiskOrder
    days: Days
    today: date

    def decide(self, known: Known) -> Decided:
        """Every open recall that is due earlier is due on the first open day from then on."""
        day = self.days.on_or_after(self.until)
        open_ = known.open or _none_open(known)
        earlier = [one for one in open_ if one.due < day]
        if not earlier:
            first = min(one.due for one in open_)
            raise known.refused(f"due on {first}, which is not before {day}", "name a later day")
        after = [self._later(known, one, day) for one in earlier]
        return Decided(
            ref=known.person.ref,
            acts=(
                Act(
                    what=What.SNOOZED,
                    swaps=(*unchanged(known), *zip(earlier, after, strict=True)),
                    details=(("until", f"{day}"), _numbers(earlier)),
                ),
            ),
            said=tuple(self._said(one, day) for one in earlier),
        )

    def _later(self, known: Known, recall: Recall, day: date) -> Recall:
        if recall.state is RecallState.WAITING and recall.interval == NO_FIGURE:
            raise known.refused(
                f"{named(recall)} waits on {recall.waiting_on}: {WHY_WAITING}",
                f"'recall done --seen {recall.anchor} --months N' gives the clinician's figure",
            )
        last = limit(recall, self.risks)
        if day > last and not self.because:
            raise known.refused(
                f"{day} is past the hard limit of {named(recall)}, {last}",
                "name an earlier day, or say --because",
            )
        if recall.booked is not None and not self.because:
            raise known.refused(
                f"a visit is booked for {recall.booked:%Y-%m-%d}, and this would call it off",
                "say --because, and tell the patient",
            )
        later = replace(
            recall, due=day, booked=None, told=False, news=called_off(recall, self.today)
        )
        if known.person.standing is Standing.READY:
            return scheduled(later, self.because)
        return replace(later, because=self.because or recall.because)

    def _said(self, recall: Recall, day: date) -> str:
        moved = f"{named(recall)}: due {day}, no longer {recall.due}"
        off = f"; the visit on {recall.booked:%Y-%m-%d} is off" if recall.booked else ""
        last = limit(recall, self.risks)
        return f"{moved}{off}; its hard limit is {last}" + (" and is passed" if day > last else "")


# --- handing over -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOver:
    """Every open recall waits on somebody from now on, ``because`` of something."""

    to: str
    because: str
    condition: Fact | None

    def decide(self, known: Known) -> Decided:
        """No reminder goes out by itself any more."""
        before = [one for one in known.open if self.condition in (None, one.condition)]
        if not before:
            _none_open(known)
        after = [waiting(one, self.to, self.because) for one in before]
        act = Act(
            what=What.HANDED_OVER,
            swaps=tuple(zip(before, after, strict=True)),
            details=(_numbers(before),),
        )
        said = [f"{named(one)}: waits on {self.to}: {self.because}" for one in after]
        said += [
            f"{named(one)}: no message tells the patient that the visit was {one.news.moment}: "
            "tell them, and say 'recall told'"
            for one in after
            if one.news is not None and one.news.moment is not None and not one.told
        ]
        return Decided(ref=known.person.ref, acts=(act,), said=tuple(said))


# --- done -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """The patient was seen on ``seen``, or it is over without a visit, ``because`` of something.

    ``figure`` is what the clinician agreed for the next visit. ``months`` has the conditions that
    come back for life; without a figure the next recall of one waits on ``asked``. ``by`` is who
    decides; ``condition`` limits it to recalls for one.
    """

    seen: date | None
    because: str | None
    figure: Interval | None
    condition: Fact | None
    asked: str
    by: str
    today: date
    clinic: Clinic
    months: Mapping[Fact, RecallMonths]

    def decide(self, known: Known) -> Decided:
        """Close what is open, and open the next recall where the patient comes back."""
        open_ = [one for one in known.open if self.condition in (None, one.condition)]
        if not open_:
            _none_open(known)
        if self.seen is None:
            return self._ended(known, open_)
        figured = [one for one in open_ if one.anchor == self.seen and one.interval == NO_FIGURE]
        if figured:
            return self._figured(known, figured, self.seen)
        return self._came(known, open_, self.seen)

    def _ended(self, known: Known, open_: list[Recall]) -> Decided:
        because = self.because or ""
        return Decided(
            ref=known.person.ref,
            acts=(_closing(What.CLOSED, open_, because, self.today),),
            said=(
                *(f"{named(one)}: closed: {because}" for one in open_),
                *_still_booked(open_, self.today),
            ),
        )

    def _came(self, known: Known, open_: list[Recall], seen: date) -> Decided:
        late = [one for one in open_ if one.anchor >= seen]
        if late:
            raise known.refused(
                f"{named(late[0])} is counted from {late[0].anchor}, so {seen} is no later visit",
                "check the day; was it said before?",
            )
        because = f"{CAME}: {self.because}" if self.because else CAME
        done = _closing(What.DONE, open_, because, seen)
        following = [self._next(known, one, seen) for one in self._returning(open_)]
        said = [f"{named(one)}: came on {seen}" for one in open_]
        if not following:
            return Decided(ref=known.person.ref, acts=(done,), said=tuple(said))
        opened = Act(
            what=What.OPENED,
            swaps=(*unchanged(known), *((None, one) for one in following)),
            details=tuple(("due", f"{one.due}") for one in following[:1]),
        )
        said += [_opened(one) for one in following]
        return Decided(ref=known.person.ref, acts=(done, opened), said=tuple(said))

    def _returning(self, open_: list[Recall]) -> Iterator[Fact | None]:
        """The conditions the patient comes back for: for life, else as the clinician agreed."""
        conditions = dict.fromkeys(one.condition for one in open_)
        lifelong = [one for one in conditions if one in self.months]
        yield from lifelong or (conditions if self.figure else ())

    def _next(self, known: Known, condition: Fact | None, seen: date) -> Recall:
        for one in known.recalls:
            if (one.anchor, one.condition) == (seen, condition):
                raise known.refused(f"{seen} was said before for {named(one)}", "check the day")
        new = Recall(
            person=known.person.ref, anchor=seen, interval=NO_FIGURE, due=seen, condition=condition
        )
        return self._agreed(known, new)

    def _figured(self, known: Known, waiting: list[Recall], seen: date) -> Decided:
        """The clinician's figure for a visit that is on record, and waited for it."""
        if self.figure is None:
            raise known.refused(
                f"{named(waiting[0])}: the visit on {seen} is on record and waits for a figure",
                "add --months or --weeks",
            )
        after = [self._agreed(known, one) for one in waiting]
        act = Act(
            what=What.OPENED,
            swaps=(*unchanged(known), *zip(waiting, after, strict=True)),
            details=(("due", f"{after[0].due}"), _numbers(waiting)),
        )
        return Decided(ref=known.person.ref, acts=(act,), said=tuple(map(_opened, after)))

    def _agreed(self, known: Known, new: Recall) -> Recall:
        """The recall with its figure and day; waiting on somebody when there is none."""
        if self.figure is None:
            return waiting(new, self.asked, WHY_WAITING)
        day = due(new.anchor, self.figure, self.clinic).on
        because = self._confirmed(known, new.condition, self.figure)
        agreed = replace(new, interval=self.figure, due=day)
        if known.person.standing is Standing.READY:
            return scheduled(agreed, because)
        why = f"{known.person.standing}: {', '.join(known.person.reasons) or 'not said why'}"
        return waiting(agreed, self.by, "; ".join(filter(None, (because, why))))

    def _confirmed(self, known: Known, condition: Fact | None, figure: Interval) -> str | None:
        """The reason of a figure outside what is allowed, which is asked twice."""
        if condition is None or condition not in self.months:
            return None
        held = Figure(condition, figure, self.months[condition])
        if held.standing is not Usual.OUTSIDE:
            return None
        if not self.because:
            raise known.refused(
                f"a recall in {held.said}; {held.allowed}, and {held.usual}",
                "say --because to confirm it",
            )
        return f"confirmed: {self.because}"


# --- gone -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Gone:
    """The patient has died or moved away: everything open is closed, and nobody writes again."""

    what: What
    reason: str
    because: str | None
    today: date

    def decide(self, known: Known) -> Decided:
        """Close what is open and silence the patient; nothing when that is so already."""
        person, because = known.person, self.reason
        if self.because:
            because = f"{self.reason}: {self.because}"
        silent = replace(
            person,
            standing=Standing.SILENT,
            reasons=tuple(dict.fromkeys((*person.reasons, self.reason))),
        )
        if silent == person and not known.open:
            return Decided(ref=person.ref, acts=(), said=(f"{self.reason} already; no change",))
        closing = _closing(self.what, known.open, because, self.today)
        act = replace(closing, swaps=((person, silent), *closing.swaps))
        said = (f"{because}; {len(known.open)} closed; nobody is written to any more",)
        still = tuple(_still_booked(known.open, self.today))
        return Decided(ref=person.ref, acts=(act,), said=(*said, *still))


# --- opting out and in ------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class OptOut:
    """No messages on these topics by these channels."""

    topics: tuple[Topic, ...]
    channels: tuple[Channel, ...]

    def decide(self, known: Known) -> Decided:
        """Add to what the patient does not want; who cannot be written to is told of."""
        pairs = _pairs(self.topics, self.channels)
        after = replace(known.person, opted_out=known.person.opted_out | pairs)
        decided = _preferring(What.OPTED_OUT, known, after, self.topics, self.channels)
        if known.open and first_usable(after, Channel, RECALL) is None:
            mute = "no message about a recall can be sent any more: it is a person's turn"
            return replace(decided, said=(*decided.said, mute))
        return decided


@dataclass(frozen=True, slots=True, kw_only=True)
class OptIn:
    """Messages on these topics by these channels again, where the patient has agreed to them."""

    topics: tuple[Topic, ...]
    channels: tuple[Channel, ...]

    def decide(self, known: Known) -> Decided:
        """Take away from what the patient does not want."""
        pairs = _pairs(self.topics, self.channels)
        after = replace(known.person, opted_out=known.person.opted_out - pairs)
        return _preferring(What.OPTED_IN, known, after, self.topics, self.channels)


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """The patient agreed to these channels, ``how`` says in what way; ``by`` records it."""

    topics: tuple[Topic, ...]
    channels: tuple[Channel, ...]
    how: str
    by: str
    today: date

    def decide(self, known: Known) -> Decided:
        """Add to what they agreed to; silence that had no other reason ends."""
        person = known.person
        others = [one for one in person.reasons if not is_lack(one)]
        silent = person.standing is Standing.SILENT
        more = [one for one in others if not is_aside(one)]
        if silent and more:
            raise known.refused(
                f"silent for more than want of consent: {', '.join(more)}", "check whose it is"
            )
        after = replace(
            person,
            agreed=person.agreed.union(self.channels),
            opted_out=person.opted_out - _pairs(self.topics, self.channels),
            standing=Standing.READY if silent else person.standing,
            reasons=(*(one for one in others if not one.startswith(AGREED)), self._recorded()),
        )
        swaps = tuple(self._taken_up(known)) if after.standing is Standing.READY else ()
        what, details = What.OPTED_IN, (("consent", "+".join(self.channels)),)
        act = Act(what=what, swaps=((person, after), *swaps), details=details)
        return Decided(ref=person.ref, acts=(act,), said=tuple(self._said(known, after, swaps)))

    def _recorded(self) -> str:
        return f"{AGREED}{self.today} by {self.by}: {'+'.join(self.channels)}, {self.how}"

    def _taken_up(self, known: Known) -> Iterator[tuple[Recall, Recall]]:
        """What waited for nothing but a consent."""
        person = known.person
        told = (SILENCED, f"{person.standing}: {', '.join(person.reasons)}")
        for one in known.open:
            waited = one.state is RecallState.WAITING and one.interval != NO_FIGURE
            if waited and (one.because or "").endswith(told):
                yield one, scheduled(one, None)

    def _said(
        self, known: Known, after: Person, taken_up: Iterable[tuple[Recall, Recall]]
    ) -> Iterator[str]:
        yield f"agreed to {'+'.join(self.channels)}; {after.standing}"
        again = {one.id for one, _ in taken_up}
        for one in known.open:
            if one.id in again:
                yield f"{named(one)}: scheduled again, due {one.due}"
            elif one.state is RecallState.WAITING:
                yield f"{named(one)}: still waits on {one.waiting_on}: {one.because}"


def _pairs(
    topics: Iterable[Topic], channels: tuple[Channel, ...]
) -> frozenset[tuple[Topic, Channel]]:
    return frozenset((topic, channel) for topic in topics for channel in channels)


def _preferring(
    what: What,
    known: Known,
    after: Person,
    topics: tuple[Topic, ...],
    channels: tuple[Channel, ...],
) -> Decided:
    told = f"{'+'.join(topics)} by {'+'.join(channels)}"
    if after == known.person:
        return Decided(ref=after.ref, acts=(), said=(f"{told}: so already; no change",))
    details = (("topics", "+".join(topics)), ("channels", "+".join(channels)))
    act = Act(what=what, swaps=((known.person, after),), details=details)
    return Decided(ref=after.ref, acts=(act,), said=(f"{what.value}: {told}",))


# --- shared -----------------------------------------------------------------------------


def named(recall: Recall) -> str:
    """A recall by its condition alone."""
    return (recall.condition or "any condition").rpartition(":")[2]


def _none_open(known: Known) -> tuple[Recall, ...]:
    raise known.refused("no such recall is open", "'recall next' shows what there is")


def _still_booked(closed: Iterable[Recall], today: date) -> Iterator[str]:
    """Visits to come of recalls that are closed, of which no message says that they are off."""
    for one in closed:
        if one.booked is not None and one.booked.date() >= today:
            at = f"{one.booked:%Y-%m-%d %H:%M}"
            yield f"{named(one)}: the visit on {at} falls away: free its time"


def _closing(what: What, open_: Iterable[Recall], because: str, on: date) -> Act:
    before = tuple(open_)
    after = [
        replace(one, state=RecallState.CLOSED, waiting_on=None, because=because, closed=on)
        for one in before
    ]
    return Act(
        what=what,
        swaps=tuple(zip(before, after, strict=True)),
        details=(("on", f"{on}"), _numbers(before)),
    )


def called_off(recall: Recall, today: date) -> News | None:
    """What is kept of a visit that was called off and needs no message."""
    if recall.booked is None:
        return recall.news
    changes = 1 + (recall.news.changes if recall.news else 0)
    return News(on=today, former=recall.booked, changes=changes)


def scheduled(recall: Recall, because: str | None) -> Recall:
    """The recall as reminders follow it by themselves."""
    return replace(recall, state=RecallState.SCHEDULED, waiting_on=None, because=because)


def waiting(recall: Recall, on: str, because: str) -> Recall:
    """The recall as it waits on somebody."""
    return replace(recall, state=RecallState.WAITING, waiting_on=on, because=because)


def unchanged(known: Known) -> tuple[Swap, ...]:
    """Holds the patient as they were read: nobody is scheduled who was silenced meanwhile."""
    return ((known.person, known.person),)


def _numbers(recalls: Iterable[Recall]) -> tuple[str, str]:
    """The register's own numbers of recalls; of very many, the first."""
    return "recalls", ",".join(f"{one.id}" for one in islice(recalls, 8))


def _opened(recall: Recall) -> str:
    if recall.state is RecallState.WAITING:
        return f"{named(recall)}: the next visit waits on {recall.waiting_on}: {recall.because}"
    return f"{named(recall)}: next due {recall.due}, {in_words(recall.interval)} on"
