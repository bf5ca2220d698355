"""How a patient reaches help and how words reach the patient: rows 12, 13 and 18."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Case, Channel, Kind, Role
from aftercare.rules.rule import Act, Rule
from aftercare.rules.sayings import PHONE
from aftercare.rules.seen import Asked, Seen, Told

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
    barred = unusable(seen.case, seen.message.channel)
    if barred:
        yield barred


def _phone_only(seen: Seen) -> Iterator[str]:
    """A way to the clinic this patient can use, and an emergency line that is not speech alone."""
    given = {
        span.text
        for told in seen.told
        if told.kind is Kind.CONTACT
        for span in told.line.spans
        # A patient may be called like a number: only what stands as one counts.
        if span.role in (Role.PHONE, Role.LINK)
    }
    if not given & _routes(seen.asked):
        yield "no route to the clinic that this patient can use"
    if "speech:no-phone" in seen.facts:
        urgent = [told for told in seen.told if told.kind is Kind.URGENT and _has_phone(told)]
        otherwise = [told.line for told in seen.saying("other_than_voice")]
        if urgent and not any(told.line in otherwise for told in urgent):
            yield "the emergency line is a call by voice alone, and this patient cannot call"


def _has_phone(told: Told) -> bool:
    return any(PHONE in sentence for sentence in told.sentences)


def _routes(asked: Asked) -> set[str]:
    clinic = asked.library.clinic
    routes = {clinic.phone} if "speech:phone" in asked.facts else set()
    routes |= {clinic.text_number or ""} if "reply:text" in asked.facts else set()
    return routes | ({clinic.email} if "reply:email" in asked.facts else set())


def _strange_number(seen: Seen) -> Iterator[str]:
    region, clinic = seen.asked.library.region, seen.asked.library.clinic
    known = {
        clinic.phone, clinic.text_number, region.emergency_number, region.emergency_text_number,
        region.urgent_advice_number, region.urgent_advice_relay,
    }  # fmt: skip
    for line in seen.message.lines:
        for span in line.spans:
            if span.role is Role.PHONE and span.text not in known:
                yield f"a phone number in {line.block_id} is not one of this clinic's region"


RULES = (
    Rule(
        name="phone only", row=12, act=Act.BLOCK, check=_phone_only, wording=_AS_IT_STANDS,
        source="NHS England Accessible Information Standard DAPB1605 (2025); Action on Hearing "
        "Loss 2013 (seen at second hand)",
    ),
    Rule(
        name="route not agreed", row=13, act=Act.BLOCK, check=_route_not_agreed,
        wording=_AS_IT_STANDS, source="common practice, no source",
    ),
    Rule(
        name="strange phone number", row=18, act=Act.BLOCK, check=_strange_number,
        wording=_AS_IT_STANDS, source="the region's numbers and their sources: shared/regions.toml",
    ),
)  # fmt: skip
