"""The clinic's data files: every complaint names file, line and key."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import refusal_of

from aftercare.errors import BadContent
from aftercare.library import read
from aftercare.library.settings import line_of
from aftercare.model import Library

# (file, what to replace, by what, a piece of the line complained of, a word of the complaint)
MISTAKES = [
    ("shared/clinic.toml", 'phone = "01632 960142"', 'phone = "ask us"', "phone", "phone"),
    (
        "shared/clinic.toml",
        'phone = "01632 960142"',
        'phone = "ring 01632 960142"',
        "phone",
        "phone",
    ),
    ("shared/clinic.toml", 'phone = "01632 960142"', 'phone = "12"', "phone", "phone number"),
    (
        "shared/clinic.toml",
        'phone = "01632 960142"',
        'phone = "01632\\u202e960142"',
        "phone",
        "U+202E",
    ),
    (
        "shared/clinic.toml",
        'email = "hello@larkfield.example"',
        'email = "hello"',
        "email",
        "email",
    ),
    ("shared/clinic.toml", 'email = "hello@', 'email = "zoë@', "email", "email"),
    ("shared/clinic.toml", 'sender = "no-reply@', 'sender = "a@b@', "sender", "sender"),
    ("shared/clinic.toml", "Europe/London", "Europe/Nowhere", "timezone", "time zone"),
    ("shared/clinic.toml", "Europe/London", "../../../etc/passwd", "timezone", "time zone"),
    ("shared/clinic.toml", '"GB-ENG"', '"England"', "region", "region"),
    ("shared/clinic.toml", '"monday"', '"mondag"', "open_days", "open_days"),
    ("shared/clinic.toml", "2026-12-24", "2026-13-40", "closed_dates", "not TOML"),
    ("shared/clinic.toml", "inches = true", "inches = 1", "inches", "inches"),
    ("shared/clinic.toml", "inches = true", "inch = true", "inch", "inch"),
    ("shared/clinic.toml", "inches = true", "inches = true\ninches = true", "inches", "not TOML"),
    ("shared/clinic.toml", '"Larkfield Clinic"', '"Lark\\nBcc: x"', "short_name", "U+000A"),
    ("shared/clinic.toml", '"Larkfield Clinic"', '"   "', "short_name", "short_name"),
    ("shared/clinic.toml", "9am to", "{nine} to", "hours", "no slot"),
    ("shared/clinic.toml", "9am to", "{clinic_phone} to", "hours", "slot or a mark"),
    ("shared/clinic.toml", "inches =", 'closes = "17:00"\ninches =', "closes", "both say when"),
    ("shared/clinic.toml", "hours =", "# hours =", "open_days", "at what hours"),
    ("shared/clinic.toml", 'hours = "Mon', 'opens = "09:00" #', "open_days", "at what hours"),
    ("shared/clinic.toml", 'hours = "Mon', 'opens = "9" #', "opens", "a time of day"),
    ("shared/clinic.toml", 'hours = "Mon', 'opens = 09:00:00 #', "opens", "a time of day"),
    ("shared/clinic.toml", 'hours = "Mon', 'opens = "17:00"\ncloses = "09:00" #', "closes",
     "closes at 09:00"),
    (
        "shared/regions.toml",
        'emergency_number = "999"',
        'emergency_number = "nine"',
        'emergency_number = "nine"',
        "emergency_number",
    ),
    ("shared/regions.toml", "[GB]", "[XX]", "#", "no numbers for GB"),
    ("shared/regions.toml", "checked = 2026-11-24", 'checked = "soon"', "checked", "checked"),
    ("shared/limits.toml", "fkgl = 6.0", "fkgl = nan", "fkgl", "fkgl"),
    ("shared/limits.toml", "fkgl = 6.0", 'fkgl = "6"', "fkgl", "fkgl"),
    ("shared/limits.toml", "point = 14.0", "point = 9.0", "point", "point"),
    ("shared/limits.toml", "max_parts = 6", "max_parts = 0", "max_parts", "max_parts"),
    ("shared/limits.toml", '"wax"', '"ear wax"', "en =", "one word each"),
    ("shared/limits.toml", "en = [", "en = []\nxx = [", "en =", "lock_screen"),
    ("shared/limits.toml", "months = 24", "months = 0", "months", "review.months"),
    ("shared/limits.toml", "months = 24", "months = 61", "months", "review.months"),
    ("shared/limits.toml", "months = 24", "months = 24.5", "months", "review.months"),
    ("shared/limits.toml", "[review]", "[reviews]", "#", "'review'"),
    ("shared/limits.toml", "usual = [6, 12]", "usual = [12, 6]", "[recall.", "least, most"),
    ("shared/limits.toml", "usual = [6, 12]", "usual = [2, 12]", "[recall.", "within what is"),
    ("shared/limits.toml", "usual = [6, 12]", "usual = [6, 13]", "[recall.", "within what is"),
    ("shared/limits.toml", "allowed = [3, 12]", "allowed = [12, 3]", "[recall.", "least, most"),
    ("shared/limits.toml", "usual = [6, 12]", "usual = [6]", "usual", "usual"),
    ("shared/limits.toml", "allowed = [3, 12]", "allowed = [3, 61]", "allowed", "allowed.1"),
    ("shared/limits.toml", "[recall.open-cavity]", "[recall.cavty]", "[recall.cavty]", "cavty"),
    ("content/frame.toml", "signoff =", "sign_off =", "sign_off", "[texts]"),
    ("content/frame.toml", "signoff =", "# signoff =", "[texts]", "signoff"),
    ("content/frame.toml", "Dear {patient_name}", "Dear {name}", "salutation", "no slot"),
    ("content/frame.toml", "With kind", "Ring 999. With kind", "signoff", "999"),
    # Whoever cannot use speech over a phone gets the line by text or by e-mail.
    ("content/frame.toml", "Text {clinic_text_number}", "Ring {clinic_phone}", "_text", "slots"),
    ("content/frame.toml", "Text {clinic_text_number}", "Text us", "_text", "slots"),
    ("content/frame.toml", "Write to {clinic_email}", "Write {clinic_email} {clinic_hours}",
     "_email", "slots"),
    ("content/frame.toml", '"draft"', '"approved"', "approval", "approver"),
    ("content/frame.toml", '"draft"', '"drafted"', "approval", "state"),
    ("shared/facts.toml", 'wax = "wax"', 'wax = ""', "wax", "wax"),
    ("shared/facts.toml", '"wax-left"]', '"waxy"]', "opposites", "waxy"),
    ("shared/facts.toml", 'deaf = "is deaf"', 'cannot-hear = "is deaf"', "values", "deaf"),
    ("shared/facts.toml", 'child = "under 16"', 'kid = "under 16"', "values", "age"),
    (
        "shared/facts.toml",
        '[groups.uses]\nscope = "patient"\n[groups.uses.values]',
        '[groups.users]\nscope = "patient"\n[groups.users.values]',
        "#",
        "no [groups.uses]",
    ),
    (
        "shared/facts.toml",
        "[groups.uses]\nscope",
        "[groups.uses]\nexclusive = true\nscope",
        "exclusive",
        "exclusive must be false",
    ),
    (
        "shared/facts.toml",
        '[groups.caution]\nscope = "patient"',
        '[groups.caution]\nscope = "ear"',
        'scope = "ear"',
        "scope must be patient",
    ),
    (
        "shared/facts.toml",
        "[groups.uses]\n",
        '[groups.mood]\nscope = "patient"\nvalues = {low = "low"}\n[groups.uses]\n',
        "values",
        "no visit ever answers",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("path", "old", "new", "at", "word"), MISTAKES)
def test_a_mistake_names_file_line_and_key(
    shelf: Mapping[str, bytes], path: str, old: str, new: str, at: str, word: str
) -> None:
    text = shelf[path].decode()
    assert old in text
    broken = text.replace(old, new, 1)

    with pytest.raises(BadContent) as caught:
        read({**shelf, path: broken.encode()}, wanted=())

    told = str(caught.value)
    assert word in told, told
    place = told.split(": ")[0] if "faults" not in told else told.split("\n  ")[1].split(": ")[0]
    named, _, line = place.rpartition(":")
    assert named == path, told
    assert at in broken.split("\n")[int(line) - 1], told


@pytest.mark.parametrize(
    "path",
    [
        "shared/facts.toml",
        "shared/clinic.toml",
        "shared/regions.toml",
        "shared/limits.toml",
        "content/frame.toml",
    ],
)
@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\xff\xfe",
        b"a = \x00",
        b"x" * 300_000,
        b"x = " + b"[" * 20_000,
        b"= 1",
        b"[a]\n[a]",
        "a = 1\u2028".encode(),
    ],
)
def test_a_file_that_is_no_such_file_is_refused(
    shelf: Mapping[str, bytes], path: str, raw: bytes
) -> None:
    with pytest.raises(BadContent) as caught:
        read({**shelf, path: raw}, wanted=())

    assert f"{path}:" in str(caught.value)


@given(at=st.integers(0, 3_000), noise=st.text(alphabet='a="[]{}\n#\\,.', max_size=8))
@settings(max_examples=60, deadline=None)
def test_noise_in_the_clinic_file_is_refused_or_read_never_worse(
    shelf: Mapping[str, bytes], at: int, noise: str
) -> None:
    raw = shelf["shared/clinic.toml"].decode()
    few = {path: data for path, data in shelf.items() if path.count("/") == 1}
    noisy = {**few, "shared/clinic.toml": (raw[:at] + noise + raw[at:]).encode()}

    refused = refusal_of(lambda: read(noisy, wanted=()))

    assert refused is None or "shared/clinic.toml:" in str(refused)


def test_the_clinic_is_read(library: Library) -> None:
    clinic, region = library.clinic, library.region

    assert (clinic.territory, region.code) == ("GB", "GB")
    assert clinic.open_days == frozenset({0, 1, 2, 3})
    # 999 and the text service: see the sources named in shared/regions.toml.
    assert region.emergency_number == "999"


def test_a_line_is_found_by_its_whole_path() -> None:
    raw = b"[a]\nx = 1\n[b]\ny = 2\nx = 3\n[b.c]\nx = 4\n[d]\ne = { x = 5 }\n# x = 6\n"

    assert line_of(raw, ("a", "x")) == 2
    assert line_of(raw, ("b", "x")) == 5
    assert line_of(raw, ("b", "c", "x")) == 7
    assert line_of(raw, ("d", "e", "x")) == 9
    assert line_of(raw, ("nowhere",)) == 1


def test_the_recall_a_clinic_may_agree_is_read(library: Library) -> None:
    # 6 to 12 months is common practice with no source; no guideline fixes it.
    cavity = library.limits.recall_months["condition:open-cavity"]

    assert (cavity.usual, cavity.allowed) == ((6, 12), (3, 12))
    assert library.limits.review_months == 24
