"""What is decided of a visit: booked, moved, called off, missed, told. The time before is kept.

Nobody is dropped by it: without a visit the recall is on its way to one again, and whoever no
message may tell waits on a named person, who tells them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

from aftercare.model import Fact, Moment
from aftercare.recall.decide import (
    NO_FIGURE,
    WHY_WAITING,
    Act,
    Decided,
    Known,
    named,
    scheduled,
    unchanged,
    waiting,
)
from aftercare.recall.people import News, Person, Recall, RecallState, Standing, What
from aftercare.recall.port import Swap
from aftercare.recall.promise import limit
from aftercare.recall.risk import RiskOrder

# Open recalls are seen to on one visit only if somebody says so.
_SAY_WHICH = "say --condition"
# Somebody may have said it at the desk or on the phone, or asked for that very time.
_UNHEARD = (
    "no message had told the patient of it, so none tells them that it is off: if they know of it, "
    "tell them"
)


class Wish(StrEnum):
    """Whose wish a change is. The words for the clinic's own say that it had to, and is sorry."""

    CLINIC = "clinic"
    PATIENT = "patient"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What every decision on a visit has in common: who takes it, when, on which recall, and why.

    ``now`` carries a zone, ``zone`` is the clinic's.
    """

    by: str
    now: datetime
    zone: str
    condition: Fact | None
    because: str | None

    @property
    def today(self) -> date:
        """The day at the clinic."""
        return self.day_of(self.now)

    def day_of(self, moment: datetime) -> date:
        """The day of a moment at the clinic."""
        return moment.astimezone(ZoneInfo(self.zone)).date()

    def shown(self, moment: datetime) -> str:
        """A moment as the clinic's clocks show it."""
        return f"{moment.astimezone(ZoneInfo(self.zone)):%Y-%m-%d %H:%M}"

    def one(self, known: Known) -> Recall:
        """The open recall that is meant."""
        found = [one for one in known.open if self.condition in (None, one.condition)]
        if not found:
            raise known.refused("no such recall is open", "'recall next' shows what there is")
        if len(found) > 1:
            conditions = ", ".join(named(one) for one in found)
            raise known.refused(f"recalls are open for {conditions}", _SAY_WHICH)
        return found[0]

    def visit(self, known: Known, recall: Recall) -> datetime:
        """The visit that is booked."""
        if recall.booked is None:
            raise known.refused(f"no visit is booked for {named(recall)}", "'recall book' does")
        return recall.booked

    def followed(self, person: Person, recall: Recall) -> tuple[Recall, tuple[str, ...]]:
        """A recall that messages follow again; or a named person, and what they are to do."""
        if person.standing is Standing.READY:
            return scheduled(recall, self.because), ()
        why = f"{person.standing}: {', '.join(person.reasons) or 'not said why'}"
        held = waiting(
            recall, recall.waiting_on or self.by, "; ".join(filter(None, (self.because, why)))
        )
        told = f"may not be written to ({why}): tell them yourself; it waits on {held.waiting_on}"
        return held, (told,)

    def decided(
        self, known: Known, what: What, swap: tuple[Recall, Recall], said: tuple[str, ...]
    ) -> Decided:
        """The change, and what is said of it."""
        before, after = swap
        news = after.news
        details = [("recall", f"{before.id}"), ("changes", f"{news.changes if news else 0}")]
        if before.booked is not None:
            details.append(("former", f"{before.booked:%Y-%m-%dT%H:%M%z}"))
        if after.booked is not None:
            details.append(("at", f"{after.booked:%Y-%m-%dT%H:%M%z}"))
        swaps: tuple[Swap, ...] = (*unchanged(known), swap)
        act = Act(what=what, swaps=swaps, details=tuple(details))
        return Decided(ref=known.person.ref, acts=(act,), said=said)


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """A visit at ``at``, which carries the clinic's zone, in the place of one there may be.

    ``told`` says whether the patient knows, so that no message tells them.
    """

    asked: Decision
    at: datetime
    wish: Wish
    told: bool
    risks: RiskOrder

    def decide(self, known: Known) -> Decided:
        """Book it; the time it was booked for before is kept."""
        asked, recall = self.asked, self.asked.one(known)
        self._check(known, recall)
        news = self._news(recall)
        booked = replace(recall, booked=self.at, news=news, told=self.told)
        after, hint = asked.followed(known.person, booked)
        return asked.decided(
            known, What.BOOKED, (recall, after),
            (self._said(recall), *hint, *self._others(known, recall), *self._late(recall)),
        )  # fmt: skip

    def _check(self, known: Known, recall: Recall) -> None:
        asked, was = self.asked, recall.booked
        if recall.state is RecallState.WAITING and recall.interval == NO_FIGURE:
            raise known.refused(
                f"{named(recall)} waits on {recall.waiting_on}: {WHY_WAITING}",
                f"'recall done --seen {recall.anchor} --months N' gives the clinician's figure",
            )
        if was == self.at:
            raise known.refused(f"it is booked for {asked.shown(was)} already", "see 'recall told'")
        if was is not None and was <= asked.now:
            raise known.refused(
                f"nobody has said whether the patient came on {asked.shown(was)}",
                "say it first with 'recall done --seen' or 'recall missed'",
            )
        last = limit(recall, self.risks)
        if asked.day_of(self.at) > last and not asked.because:
            raise known.refused(
                f"{asked.day_of(self.at)} is past the hard limit of {named(recall)}, {last}",
                "name an earlier day, or say --because",
            )

    def _news(self, recall: Recall) -> News:
        """What the patient is to hear: of a change only if they know what is changed."""
        news, heard = recall.news, _heard(recall)
        moved = heard is not None and heard != self.at and self.wish is Wish.CLINIC
        former = news.former if news is not None and recall.booked is None else None
        return News(
            on=self.asked.today,
            moment=Moment.CHANGED if moved else Moment.BOOKED,
            former=heard or former,
            changes=_next(recall),
        )

    def _said(self, recall: Recall) -> str:
        at = self.asked.shown(self.at)
        if recall.booked is None:
            return f"{named(recall)}: booked for {at}"
        return f"{named(recall)}: booked for {at}, no longer {self.asked.shown(recall.booked)}"

    def _others(self, known: Known, recall: Recall) -> tuple[str, ...]:
        """Other visits of the same patient, which may be one too many."""
        return tuple(
            f"also booked for {named(one)} on {self.asked.shown(one.booked)}: one of them too many?"
            for one in known.open
            if one.id != recall.id and one.booked is not None and one.booked > self.asked.now
        )

    def _late(self, recall: Recall) -> tuple[str, ...]:
        last = limit(recall, self.risks)
        passed = self.asked.day_of(self.at) > last
        return (f"its hard limit, {last}, is passed by then",) if passed else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CallOff:
    """The visit that is booked will not be. ``told`` says whether the patient knows."""

    asked: Decision
    wish: Wish
    told: bool

    def decide(self, known: Known) -> Decided:
        """Take it off; the patient hears of it unless it was their wish."""
        asked, recall = self.asked, self.asked.one(known)
        was = asked.visit(known, recall)
        if was <= asked.now:
            raise known.refused(
                f"the visit on {asked.shown(was)} is over",
                "say 'recall done --seen' or 'recall missed'",
            )
        heard = _heard(recall)
        owed = heard is not None and self.wish is Wish.CLINIC
        news = News(
            on=asked.today,
            moment=Moment.CANCELLED if owed else None,
            former=heard or was,
            changes=_next(recall),
        )
        off = replace(recall, booked=None, news=news, told=self.told)
        after, hint = asked.followed(known.person, off)
        said = (
            f"{named(recall)}: the visit on {asked.shown(was)} is off, by wish of the {self.wish}"
        )
        if self.wish is Wish.CLINIC and heard is None and not self.told:
            hint = (*hint, _UNHEARD)
        return asked.decided(known, What.CALLED_OFF, (recall, after), (said, *hint))


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """The patient did not come to the visit that was booked."""

    asked: Decision

    def decide(self, known: Known) -> Decided:
        """Ask for a new time, without blame; whoever never heard of it waits on who decides."""
        asked, recall = self.asked, self.asked.one(known)
        was = asked.visit(known, recall)
        if was > asked.now:
            raise known.refused(
                f"the visit on {asked.shown(was)} is still to come",
                "'recall call-off' takes it off",
            )
        news = News(
            on=asked.day_of(was), moment=Moment.MISSED, former=was,
            changes=recall.news.changes if recall.news else 0,
        )  # fmt: skip
        missed = replace(recall, booked=None, news=news, told=False)
        said = f"{named(recall)}: did not come on {asked.shown(was)}"
        if _heard(recall) == was:
            after, hint = asked.followed(known.person, missed)
        else:
            why = f"never told of the visit on {asked.shown(was)}: offer a new time"
            after, hint = waiting(missed, asked.by, why), (f"{why}; it waits on {asked.by}",)
        return asked.decided(known, What.MISSED, (recall, after), (said, *hint))


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Somebody has told the patient what became of their visit, so that no message has to."""

    asked: Decision

    def decide(self, known: Known) -> Decided:
        """Keep that they know."""
        asked, recall = self.asked, self.asked.one(known)
        if recall.news is None and recall.booked is None:
            raise known.refused(f"no visit was booked for {named(recall)}", "nothing is to be told")
        if recall.told:
            said = f"{named(recall)}: told already; no change"
            return Decided(ref=known.person.ref, acts=(), said=(said,))
        told = replace(recall, told=True)
        after: Recall = told
        hint: tuple[str, ...] = ()
        if recall.booked is not None and recall.booked > asked.now:
            after, hint = asked.followed(known.person, told)
        what = recall.news.moment if recall.news and recall.news.moment else "booked"
        said = f"{named(recall)}: the patient knows that the visit was {what}"
        return asked.decided(known, What.TOLD, (recall, after), (said, *hint))


def _heard(recall: Recall) -> datetime | None:
    """The time of a visit the patient has in mind: none they were never told of."""
    news = recall.news
    if recall.told or news is None:
        return recall.booked if recall.told else None
    return news.former if news.moment in (Moment.CHANGED, Moment.CANCELLED) else None


def _next(recall: Recall) -> int:
    """How often a visit was changed, with this time; the first booking is none."""
    if recall.booked is None and recall.news is None:
        return 0
    return 1 + (recall.news.changes if recall.news else 0)
