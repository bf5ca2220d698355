"""What a patient's illnesses, medicines and life at home call for: rows 8, 9, 10 and 20."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.rules.rule import Act, Rule
from aftercare.rules.seen import Seen, named

_SLOW_TO_HEAL = frozenset({"caution:diabetes", "caution:weak-immunity", "caution:radiotherapy"})
_AT_RISK_WHEN_DIZZY = frozenset({"caution:fall-risk", "caution:lives-alone", "caution:driver"})


def _seventy_two_hours(seen: Seen) -> Iterator[str]:
    at_risk = seen.having(_SLOW_TO_HEAL)
    if not at_risk:
        return
    infected = any(seen.ears("condition:otitis-externa", "finding:discharge"))
    if (infected or seen.said("infection")) and not _seen_after_72_hours(seen):
        yield f"with {', '.join(at_risk)}, nothing says what to do when it is no better in 72 hours"


def _seen_after_72_hours(seen: Seen) -> bool:
    """Whether a line says so and asks for help that very day."""
    return any(in_time for _, in_time in seen.in_time("no_better_in_72_hours"))


def _blood_thinner(seen: Seen) -> Iterator[str]:
    if "caution:blood-thinner" not in seen.facts:
        return
    for told in seen.saying("aspirin_or_ibuprofen"):
        yield f"{named(told)} names aspirin or a medicine like it"
    for told in seen.saying("stop_medicine"):
        yield f"{named(told)} says to stop a medicine"
    if not seen.said("bleeding"):
        yield "nothing says what to do about bleeding"


def _bone_medicine(seen: Seen) -> Iterator[str]:
    takes_it = "caution:bone-medicine" in seen.facts
    if takes_it and not (seen.said("pain") and seen.said("fluid")):
        yield "nothing asks the patient to report both ear pain and fluid"


def _dizziness(seen: Seen) -> Iterator[str]:
    at_risk = seen.having(_AT_RISK_WHEN_DIZZY)
    if at_risk and not seen.said("dizziness_line"):
        yield f"with {', '.join(at_risk)}, nothing says what to do when dizzy"


RULES = (
    Rule(
        name="72-hour rule", row=8, act=Act.BLOCK, overridable=True, check=_seventy_two_hours,
        source="NICE NG98 1.1.4; AAO-HNS 2014 outer-ear infection guideline; for diabetes and "
        "radiotherapy: proposed by this project; a clinician must confirm",
    ),
    Rule(
        name="blood thinner", row=9, act=Act.BLOCK, overridable=True, check=_blood_thinner,
        source="AAO-HNS 2017 earwax guideline, statement 2B (seen at second hand); the wording: "
        "proposed by this project; a clinician must confirm",
    ),
    Rule(
        name="bone medicine", row=10, act=Act.WARN, check=_bone_medicine,
        source="MHRA December 2015: report ear pain, discharge or infection",
    ),
    Rule(
        name="dizziness line", row=20, act=Act.WARN, check=_dizziness,
        source="McInerney 2024, Irish Journal of Medical Science 193:945; driving: proposed by "
        "this project; a clinician must confirm",
    ),
)  # fmt: skip
