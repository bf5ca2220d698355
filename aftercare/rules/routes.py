"""How a patient reaches help and how words reach the patient: rows 12, 13 and 18."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Case, Channel, Kind, Role
from aftercare.rules.rule import Act, Rule
from aftercare.rules.sayings import PHONE
from aftercare.rules.seen import Seen, Told, named

_AS_IT_STANDS = "{why}"


def unusable(case: Case, channel: Channel) -> str | None:
    """Why this patient cannot be reached this way; None when they can."""
    if channel not in case.patient.agreed:
        return f"the patient has not agreed to {channel}"
    if channel is Channel.SMS and not case.patient.mobile:
        return "the patient has no mobile number"
    if channel is Channel.EMAIL and not case.patient.email:
        return "the patient has no e-mail address"
    return None


def _route_not_agreed(seen: Seen) -> Iterator[str]:
    channel = seen.message.channel
    if f"route:{channel}" not in seen.facts:
        yield unusable(seen.case, channel) or f"the patient cannot be reached by {channel}"


def _phone_only(seen: Seen) -> Iterator[str]:
    """A way to the clinic this patient can use, and an emergency line that is not speech alone."""
    routes = _routes(seen)
    if not seen.tells(lambda told: bool(_given(told) & routes)):
        yield "no route to the clinic that this patient can use"
    if "speech:no-phone" in seen.facts and seen.tells(_rings):
        otherwise = seen.known("other_than_voice")
        if not seen.tells(lambda told: _rings(told) and told.says(otherwise)):
            yield "the emergency line is a call by voice alone, and this patient cannot call"


def _given(told: Told) -> set[str]:
    """The routes to the clinic in a line on how to reach it."""
    if told.kind is not Kind.CONTACT:
        return set()
    # A patient may be called like a number: only what stands as one counts.
    return {span.text for span in told.line.spans if span.role in (Role.PHONE, Role.LINK)}


def _rings(told: Told) -> bool:
    """Whether an urgent line gives a number."""
    return told.kind is Kind.URGENT and any(PHONE in sentence for sentence in told.sentences)


def _routes(seen: Seen) -> set[str]:
    clinic = seen.asked.library.clinic
    routes = {clinic.phone} if "speech:phone" in seen.facts else set()
    routes |= {clinic.text_number or ""} if "reply:text" in seen.facts else set()
    return routes | ({clinic.email} if "reply:email" in seen.facts else set())


def _strange_number(seen: Seen, told: Told) -> Iterator[str]:
    region, clinic = seen.asked.library.region, seen.asked.library.clinic
    known = {
        clinic.phone, clinic.text_number, region.emergency_number, region.emergency_text_number,
        region.urgent_advice_number, region.urgent_advice_relay,
    }  # fmt: skip
    for span in told.line.spans:
        if span.role is Role.PHONE and span.text not in known:
            yield f"a phone number in {named(told)} is not one of this clinic's region"


RULES = (
    Rule(
        name="phone only", row=12, act=Act.BLOCK, check=_phone_only, wording=_AS_IT_STANDS,
        source="NHS England Accessible Information Standard DAPB1605 (2025); Action on Hearing "
        "Loss 2013 (seen at second hand)",
    ),
    Rule(
        name="route not agreed", row=13, act=Act.BLOCK, record=_route_not_agreed,
        wording=_AS_IT_STANDS, source="common practice, no source",
    ),
    Rule(
        name="strange phone number", row=18, act=Act.BLOCK, line=_strange_number,
        wording=_AS_IT_STANDS, source="the region's numbers and their sources: shared/regions.toml",
    ),
)  # fmt: skip
