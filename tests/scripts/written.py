"""One visit written in every language that ships, by the path a clinic's own samples take."""

from __future__ import annotations

from dataclasses import dataclass, replace
from email import message_from_bytes, policy
from functools import cache

from made_up import HOME
from made_up_recalls import a_person
from made_up_reminders import an_order

from aftercare.cli.bootstrap import House, open_house
from aftercare.edges.visit import parse_visit
from aftercare.flow import Discharge, discharge
from aftercare.model import Case, Channel, Line, Message, Moment, Purpose, Section, Shape
from aftercare.reminding import Reminding
from aftercare.render.leaflet import leaflet_data
from aftercare.render.letter import letter_data

NAMES = {
    "en": "English", "ar": "العربية", "bn": "বাংলা", "cy": "Cymraeg", "de": "Deutsch",
    "es": "Español", "fr": "Français", "pa": "ਪੰਜਾਬੀ", "pl": "Polski", "pt": "Português",
    "ro": "Română", "ur": "اردو", "zh": "简体中文",
}  # fmt: skip
LANGUAGES = tuple(NAMES)
RIGHT_TO_LEFT = frozenset({"ar", "ur"})
# Wax in one ear, a cavity in the other, dizzy, a length: slots and signs of every kind.
VISIT = "shared/demo/09-reads-urdu.toml"


@dataclass(frozen=True)
class Written:
    """A visit in one language: its messages by channel, the leaflet in both sizes."""

    language: str
    done: Discharge
    large: Discharge

    def message(self, channel: Channel) -> Message:
        return next(one for one in self.done.messages if one.channel is channel)

    @property
    def leaflets(self) -> dict[str, Message]:
        return {"print": self.message(Channel.PRINT), "large": self.large.messages[0]}

    @property
    def email(self) -> tuple[str, str]:
        """The plain text and the page."""
        raw = self.message(Channel.EMAIL).body
        assert raw is not None
        plain, page = message_from_bytes(raw, policy=policy.default).iter_parts()
        return plain.get_content(), page.get_content()

    @property
    def sms(self) -> str:
        counted = self.message(Channel.SMS).sms
        assert counted is not None
        return "".join(counted.texts)


@cache
def house() -> House:
    return open_house(str(HOME))


def a_visit(language: str, *, path: str = VISIT, large: bool = False) -> Case:
    case = parse_visit(path, (HOME / path).read_bytes(), house().library, house().today())
    facts = case.patient.facts | ({"format:large-print"} if large else set())
    return replace(case, patient=replace(case.patient, language=language, facts=facts))


def sample(case: Case, *channels: Channel) -> Discharge:
    return discharge(
        case,
        house().library,
        press=house().press,
        today=case.visit_date,
        purpose=Purpose.SAMPLE,
        channels=channels,
    )


@cache
def written(language: str) -> Written:
    return Written(
        language,
        sample(a_visit(language), *Channel),
        sample(a_visit(language, large=True), Channel.PRINT),
    )


@cache
def reminding() -> Reminding:
    return Reminding(house().library, house().press, Purpose.SAMPLE)


@cache
def reminder(language: str, moment: Moment, channel: Channel, *, large: bool = False) -> Message:
    """One reminder of every moment and channel, for somebody with a Latin name."""
    facts = frozenset({"format:large-print"}) if large else frozenset()
    person = a_person(language=language, facts=facts)
    return reminding().write(an_order(moment, channel, person=person))


def patient_letter(language: str, moment: Moment) -> bytes:
    """A recall letter in large print as a patient would get it, once it is approved."""
    library = house().library
    order = an_order(moment, Channel.PRINT, person=a_person(language=language))
    draft = reminding().draft(order, lambda tongue: order.filled(library, tongue))
    assert not isinstance(draft, str), draft
    data = letter_data(
        draft.worded,
        address=("Robin Ash", *order.person.address),
        clinic=library.clinic.name,
        purpose=Purpose.PATIENT,
        point=library.limits.large_print_point,
        most_pages=library.limits.print_pages_large,
    )
    return house().press.press(data).pdf


def reminder_page(language: str, moment: Moment = Moment.CHANGED) -> str:
    """The page of a reminder by e-mail."""
    return _part(reminder(language, moment, Channel.EMAIL), "html")


def text_of(message: Message) -> str:
    """The plain text of a reminder by e-mail."""
    return _part(message, "plain")


def _part(message: Message, kind: str) -> str:
    assert message.body is not None, message.withheld_because
    read = message_from_bytes(message.body, policy=policy.default)
    body = read.get_body((kind,))
    assert body is not None
    said: str = body.get_content()
    return said


def printed_lines(done: Discharge) -> list[str]:
    """Every line of the letter in the order it is read, with the marks of its lists."""
    worded = done.worded
    first = [worded.frame[key].text for key in ("title", "salutation")]
    last = [worded.frame[key].text for key in ("caution", "signoff")]
    return [*first, *(one for section in worded.sections for one in _said(section)), *last]


def _said(section: Section) -> list[str]:
    marks = {Shape.BULLETS: "•", Shape.STEPS: "{}.", Shape.PARAGRAPHS: ""}
    return [
        section.heading.text,
        *(
            marks[passage.shape].format(at) + line.text
            for passage in section.passages
            for at, line in enumerate(passage.lines, 1)
        ),
    ]


def lines(done: Discharge) -> list[Line]:
    """Every line of the letter as spans."""
    worded = done.worded
    headings = [section.heading for section in worded.sections]
    return [*worded.frame.values(), *headings, *worded.lines()]


def patient_page(one: Written, size: str) -> bytes:
    """The leaflet as a patient would get it, without the stamps, once it is approved."""
    done, limits = {"print": one.done, "large": one.large}[size], house().library.limits
    data = leaflet_data(
        done.worded,
        clinic=house().library.clinic.name,
        purpose=Purpose.PATIENT,
        point={"print": limits.print_point, "large": limits.large_print_point}[size],
    )
    return house().press.press(data).pdf
