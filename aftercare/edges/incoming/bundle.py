"""A list as a FHIR bundle (R5, or R4B where R5 does not fit), by the optional extra ``fhir``.

Each Patient is a row; an Encounter of theirs gives the day they were seen, the latest counts, and
Conditions give what for. A bundle says nothing of consent that could be relied on: the mapping may.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from aftercare.edges.incoming.in_memory import InMemory
from aftercare.edges.incoming.source import Source
from aftercare.errors import BadInput
from aftercare.recall.incoming.cells import Row

BUNDLE_BYTES = 64 * 1024 * 1024
HEADERS = (
    "ref", "first name", "last name", "born", "language", "mobile", "email", "address line 1",
    "postcode", "deceased", "status", "case", "seen", "condition",
)  # fmt: skip
_ENDED = frozenset({"inactive", "resolved", "remission", "refuted", "entered-in-error"})
_NOT_HELD = frozenset({"planned", "cancelled", "entered-in-error"})


def read_bundle(path: Path, today: date) -> Source:
    """The list in a bundle as it holds ``today``.

    Raises ``BadInput``, also when the extra is not installed.
    """
    place = str(path)
    bundle, release = _parsed(place, _bytes(path))
    kinds: dict[str, list[Any]] = {}
    names: dict[int, str] = {}
    for entry in bundle.entry or ():
        if (one := entry.resource) is not None:
            kinds.setdefault(type(one).__name__, []).append(one)
            names[id(one)] = entry.fullUrl or ""
    rows: list[Row] = [
        _row(one, names[id(one)], kinds, today.isoformat()) for one in kinds.get("Patient", ())
    ]
    if not rows:
        raise BadInput(place, "no Patient in the bundle", "export the patients as well")
    notes = (f"read as a FHIR bundle, {release}",)
    return InMemory(place, HEADERS, rows, first_row=1, notes=notes)


def _bytes(path: Path) -> bytes:
    try:
        raw = path.read_bytes()[: BUNDLE_BYTES + 1]
    except OSError as error:
        raise BadInput(str(path), error.strerror or "unreadable", "check the name") from None
    if len(raw) > BUNDLE_BYTES:
        raise BadInput(str(path), "over 64 MB", "export fewer at once")
    return raw


def _parsed(place: str, raw: bytes) -> tuple[Any, str]:
    try:
        from fhir.resources.bundle import Bundle
        from fhir.resources.R4B.bundle import Bundle as BundleR4B
    except ImportError:
        told = "reading FHIR needs an extra that is not installed"
        raise BadInput(place, told, "install it: pip install 'aftercare[fhir]'") from None
    for model, release in ((Bundle, "R5"), (BundleR4B, "R4B")):
        try:
            return model.model_validate_json(raw), release
        except (ValueError, RecursionError):
            continue
    raise BadInput(place, "not a FHIR bundle of R5 or R4B", "export it again")


def _row(patient: Any, url: str, kinds: dict[str, list[Any]], today: str) -> Row:
    seen = _latest(one for one in _of(patient, url, kinds.get("Encounter", ())) if _held(one))
    conditions = [one for one in _of(patient, url, kinds.get("Condition", ())) if _current(one)]
    name, address = _first(patient.name, "official"), _first(patient.address, "home")
    parts = [*(getattr(address, "line", None) or ()), getattr(address, "city", None)]
    return [
        _ref(patient),
        " ".join(one for one in (getattr(name, "given", None) or ()) if one),
        getattr(name, "family", None) or "",
        _text(patient.birthDate),
        _language(patient),
        _reach(patient, "phone", today),
        _reach(patient, "email", today),
        ", ".join(str(one) for one in parts if one),
        getattr(address, "postalCode", None) or "",
        "yes" if patient.deceasedBoolean or patient.deceasedDateTime else "",
        "" if patient.active is not False else "not active",
        _text(getattr(seen, "id", None)),
        _start(seen)[:10],
        ";".join(filter(None, (_words(one.code) for one in conditions))),
    ]


def _of(patient: Any, url: str, resources: Any) -> Iterator[Any]:
    """The resources whose subject is this patient, by the id or the ``fullUrl`` of the entry."""
    wanted = f"Patient/{patient.id}"
    for one in resources:
        said = getattr(getattr(one, "subject", None), "reference", None) or ""
        by_id = patient.id and (said == wanted or said.endswith(f"/{wanted}"))
        if by_id or (url and said == url):
            yield one


def _held(encounter: Any) -> bool:
    """Whether somebody was there at all."""
    return encounter.status not in _NOT_HELD


def _latest(encounters: Iterator[Any]) -> Any:
    return max((one for one in encounters if _start(one)), key=_start, default=None)


def _start(encounter: Any) -> str:
    """When an encounter began: ``actualPeriod`` in R5, ``period`` in R4B."""
    period = getattr(encounter, "actualPeriod", None) or getattr(encounter, "period", None)
    return _text(getattr(period, "start", None))


def _current(condition: Any) -> bool:
    told = (condition.clinicalStatus, condition.verificationStatus)
    codings = [one for status in told for one in getattr(status, "coding", None) or ()]
    return not any(one.code in _ENDED for one in codings)


def _words(concept: Any) -> str:
    """A concept in words: its text, else the first display."""
    said = getattr(concept, "text", None)
    shown = [one.display for one in getattr(concept, "coding", None) or () if one.display]
    return said or (shown[0] if shown else "")


def _ref(patient: Any) -> str:
    identifier = _first(patient.identifier, "usual")
    return getattr(identifier, "value", None) or patient.id or ""


def _reach(patient: Any, system: str, today: str) -> str:
    """The number or address of a system; a mobile before others, none that is old."""
    ways = [
        one
        for one in patient.telecom or ()
        if one.system == system and one.use != "old" and not _is_over(one.period, today)
    ]
    ways.sort(key=lambda one: (one.use != "mobile", one.rank or 99))
    return (ways[0].value or "") if ways else ""


def _is_over(period: Any, today: str) -> bool:
    end = _text(getattr(period, "end", None))[:10]
    return bool(end) and end < today


def _language(patient: Any) -> str:
    spoken = sorted(patient.communication or (), key=lambda one: not one.preferred)
    codes = [one.code for one in (spoken[0].language.coding or ())] if spoken else []
    return (codes[0] or "").split("-")[0] if codes else ""


def _first(several: Any, use: str) -> Any:
    """The one of this use, else the first that is not old."""
    live = [one for one in several or () if getattr(one, "use", None) != "old"]
    return next(
        (one for one in live if getattr(one, "use", None) == use), live[0] if live else None
    )


def _text(value: Any) -> str:
    return "" if value is None else value if isinstance(value, str) else value.isoformat()
