"""The path per case against a plain pipeline: Jinja2, textstat and smsutil on the same words.

The peer starts from finished words: it renders the same page template, counts the SMS with
smsutil and grades the page three times with textstat. It chooses nothing, translates
nothing, checks nothing, builds no MIME message and prints no PDF.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import pytest
import smsutil
import textstat
from jinja2 import Environment, PackageLoader, StrictUndefined

from aftercare import library
from aftercare.edges.folder import read_home
from aftercare.edges.press import TypstPress
from aftercare.edges.visit import parse_visit
from aftercare.flow import Discharge, discharge
from aftercare.model import Case, Channel, Library, Purpose, Section, Shape, Worded
from aftercare.score.second import second_opinion

ROOT = Path(__file__).parents[2]
CASES = 200
PAGE = Environment(
    loader=PackageLoader("aftercare.render"), autoescape=True, undefined=StrictUndefined
).get_template("email.html.j2")
TAGS = {Shape.BULLETS: "ul", Shape.STEPS: "ol", Shape.PARAGRAPHS: ""}


@dataclass(frozen=True)
class Box:
    """One division of the page template."""

    name: str
    sections: tuple[Section, ...]


@pytest.fixture(scope="module")
def shelf() -> Library:
    return library.read(read_home(ROOT))


@pytest.fixture(scope="module")
def cases(shelf: Library) -> list[Case]:
    path = ROOT / "shared/demo/01-cavity-dizzy.toml"
    case = parse_visit(path.name, path.read_bytes(), shelf, date.max)
    # Different names, so that nothing answers from a memory of the whole text.
    return [
        replace(
            case,
            ref=f"bench-{n}",
            patient=replace(case.patient, name=f"Person {chr(65 + n % 26)}{n}"),
        )
        for n in range(CASES)
    ]


def per_case(work: Callable[[Case], object], cases: list[Case]) -> float:
    """Seconds per case, after a warm-up of a few."""
    for case in cases[:5]:
        work(case)
    start = time.perf_counter()
    for case in cases:
        work(case)
    return (time.perf_counter() - start) / len(cases)


def the_path(shelf: Library, press: TypstPress, *channels: Channel) -> Callable[[Case], Discharge]:
    return lambda case: discharge(
        case, shelf, press=press, today=case.visit_date, purpose=Purpose.SAMPLE, channels=channels
    )


def plain_pipeline(worded: Worded) -> tuple[str, int, float]:
    frame = worded.frame
    page = PAGE.render(
        help=None,
        lang=worded.language,
        dir=worded.direction,
        stamp=frame["stamp"].text,
        clinic="Larkfield Ear Care",
        frame=frame,
        boxes=[Box("first", worded.sections[:2]), Box("rest", worded.sections[2:])],
        tags=TAGS,
        say=lambda line: line.text,
    )
    # The name opens the text, so that textstat's memory of whole texts answers nothing.
    told = " ".join([frame["salutation"].text, *(line.text for line in worded.lines())])
    text = "\n".join([frame["stamp"].text, *(line.text for _, line in worded.short)])
    # The same three grades as the path; the hook that keeps textstat offline is set already.
    textstat.flesch_reading_ease(told)
    textstat.smog_index(told)
    return page, len(smsutil.split(text).parts), textstat.flesch_kincaid_grade(told)


@pytest.mark.bench
def test_the_path_per_case_against_a_plain_pipeline(
    shelf: Library, cases: list[Case], capsys: pytest.CaptureFixture[str]
) -> None:
    press = TypstPress()
    second_opinion("Set textstat up, so that it fetches nothing.")
    words = {case.ref: the_path(shelf, press, Channel.EMAIL)(case).worded for case in cases}

    both = per_case(the_path(shelf, press, Channel.SMS, Channel.EMAIL), cases)
    peer = per_case(lambda case: plain_pipeline(words[case.ref]), cases)
    all_three = per_case(the_path(shelf, press, *Channel), cases[:60])

    done = the_path(shelf, press, *Channel)(cases[0])
    _, parts, grade = plain_pipeline(words[cases[0].ref])
    sms, mail, leaflet = done.messages
    assert sms.sms is not None
    assert abs(sms.sms.parts - parts) <= 1
    assert mail.score.fkgl is not None
    assert abs(mail.score.fkgl - grade) < 1.5
    assert leaflet.body is not None
    assert leaflet.body.startswith(b"%PDF")
    with capsys.disabled():
        print(
            f"\n  SMS + e-mail {both * 1e3:.2f} ms a case, plain pipeline {peer * 1e3:.2f} ms,"
            f" ratio {peer / both:.1f}; with the PDF {all_three * 1e3:.2f} ms"
        )


def test_the_peer_would_notice_other_words(shelf: Library, cases: list[Case]) -> None:
    done = the_path(shelf, TypstPress(), Channel.EMAIL)(cases[0])
    second_opinion("Set textstat up, so that it fetches nothing.")
    shorter = replace(done.worded, short=done.worded.short[:2])

    assert plain_pipeline(done.worded)[1] > plain_pipeline(shorter)[1]
