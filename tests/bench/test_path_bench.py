"""The path per case against a plain pipeline: Jinja2, textstat and smsutil on the same words.

The peer renders the same finished sentences through two templates, counts the SMS with
smsutil and grades the page with textstat. It chooses nothing, translates nothing, checks
nothing and prints no PDF, so the path is timed without its press as well.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import pytest
import smsutil
from jinja2 import Environment

from aftercare import library
from aftercare.edges.folder import read_home
from aftercare.edges.press import TypstPress
from aftercare.edges.visit import parse_visit
from aftercare.flow import Discharge, discharge
from aftercare.model import Case, Channel, Library, Purpose
from aftercare.score.second import second_opinion

ROOT = Path(__file__).parents[2]
CASES = 200
SHELL = Environment(autoescape=True)
PAGE = SHELL.from_string(
    "<html><body><h1>{{ title }}</h1>{% for heading, lines in sections %}<h2>{{ heading }}</h2>"
    "{% for line in lines %}<p>{{ line }}</p>{% endfor %}{% endfor %}</body></html>"
)
TEXT = SHELL.from_string("{% for line in short %}{{ line }}\n{% endfor %}")


@dataclass(frozen=True)
class Words:
    """What the peer starts from: sentences that somebody already chose and filled in."""

    title: str
    sections: list[tuple[str, list[str]]]
    short: list[str]


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


def plain_pipeline(words: Words) -> tuple[str, int, float]:
    page = PAGE.render(title=words.title, sections=words.sections)
    told = " ".join(line for _, lines in words.sections for line in lines)
    text = TEXT.render(short=words.short)
    return page, len(smsutil.split(text).parts), second_opinion(told).flesch_kincaid


def words_of(done: Discharge) -> Words:
    worded = done.worded
    return Words(
        f"{worded.frame['salutation'].text} {worded.frame['title'].text}",
        [(s.heading.text, [line.text for line in s.lines()]) for s in worded.sections],
        [worded.frame["salutation"].text, *(line.text for _, line in worded.short)],
    )


@pytest.mark.bench
def test_the_path_per_case_against_a_plain_pipeline(
    shelf: Library, cases: list[Case], capsys: pytest.CaptureFixture[str]
) -> None:
    press = TypstPress()
    words = {case.ref: words_of(the_path(shelf, press, Channel.EMAIL)(case)) for case in cases}

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
            f"\n  path, SMS + e-mail: {both * 1e3:.2f} ms a case; plain pipeline {peer * 1e3:.2f} ms;"
            f" ratio {peer / both:.1f}; with the PDF {all_three * 1e3:.2f} ms"
        )


def test_the_peer_would_notice_other_words(shelf: Library, cases: list[Case]) -> None:
    done = the_path(shelf, TypstPress(), Channel.EMAIL)(cases[0])
    words = words_of(done)
    shorter = replace(words, short=words.short[:2])

    assert plain_pipeline(words)[1] > plain_pipeline(shorter)[1]
