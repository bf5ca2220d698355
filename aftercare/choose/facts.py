"""The facts that follow from a visit and its clinic, beside those the clinician gave."""

from __future__ import annotations

from collections.abc import Iterator

from aftercare.model import Case, Channel, Fact, Library, Patient

# Whoever cannot rely on speech over a phone is never told only to phone (rule 12).
_NO_SPEECH = frozenset({"need:deaf", "need:hard-of-hearing", "need:cannot-phone"})
# Texts that others may read say no more than a locked screen may show.
_SEEN_BY_OTHERS = frozenset({"texts:shared-phone", "need:proxy"})
_DETAIL = "texts:detail"


def patient_facts(case: Case, library: Library) -> frozenset[Fact]:
    """Everything true of the person at this visit, given and derived.

    Where others see the patient's phone, texts give no detail, whatever was asked (rule 22).
    """
    given = case.patient.facts
    if given & _SEEN_BY_OTHERS:
        given = given - {_DETAIL}
    return given | frozenset(_derived(case, library))


def _derived(case: Case, library: Library) -> Iterator[Fact]:
    given, region = case.patient.facts, library.region
    yield "reader:parent" if "age:child" in given else "reader:self"
    yield "speech:no-phone" if given & _NO_SPEECH else "speech:phone"
    yield from _routes(case.patient)
    yield from _replies(case.patient, library)
    yield "recall:agreed" if case.recall else "recall:none"
    yield "units:cm-and-inches" if library.clinic.inches else "units:cm"
    yield f"region:{region.code}"
    yield f"advice-line:{'yes' if region.urgent_advice_number else 'no'}"
    yield f"emergency-text:{'yes' if region.emergency_text_number else 'no'}"


def _routes(patient: Patient) -> Iterator[Fact]:
    """The channels the patient agreed to and can be reached on."""
    needed = {Channel.SMS: patient.mobile, Channel.EMAIL: patient.email}
    for channel in Channel:
        if channel in patient.agreed and needed.get(channel, "paper"):
            yield f"route:{channel}"


def _replies(patient: Patient, library: Library) -> Iterator[Fact]:
    """The ways this patient can write back to this clinic."""
    if patient.mobile and library.clinic.text_number:
        yield "reply:text"
    if patient.email and Channel.EMAIL in patient.agreed:
        yield "reply:email"
