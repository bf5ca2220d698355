"""The e-mail, read back with the standard library and an HTML parser that is not ours."""

from __future__ import annotations

import re
from dataclasses import replace
from email import policy
from email.message import EmailMessage
from email.parser import BytesParser
from email.utils import parsedate_to_datetime

import pytest
from hypothesis import example, given, settings
from lxml import html
from made_up import TODAY, a_case, a_patient, an_ear
from strategies import cases, hostile_texts, names

from aftercare.choose import choose, patient_facts
from aftercare.errors import BadText
from aftercare.model import Case, Library, Line, Purpose, Role, Side, Span, Worded
from aftercare.render.email import email, header_safe
from aftercare.word import word

ISOLATES = re.compile("[\u2066-\u2069]")
LANGUAGES = ["en", "pl", "ur"]


def worded(library: Library, case: Case) -> Worded:
    return word(
        case,
        choose(case, library),
        patient_facts(case, library),
        library,
        language=case.patient.language,
        recall=TODAY,
    )


def made(library: Library, case: Case, purpose: Purpose = Purpose.PATIENT) -> bytes:
    return email(worded(library, case), case, library, purpose)


def parsed(raw: bytes) -> EmailMessage:
    message = BytesParser(policy=policy.default).parsebytes(raw)
    assert isinstance(message, EmailMessage)
    assert not message.defects
    return message


def parts(message: EmailMessage) -> tuple[str, html.HtmlElement]:
    plain, page = message.iter_parts()
    return plain.get_content(), html.document_fromstring(page.get_content())


def words(text: str) -> str:
    """Characters a reader reads, blanks made one."""
    return " ".join(ISOLATES.sub("", text).split())


def said(case: Case, library: Library) -> list[str]:
    told = worded(library, case)
    frame = [told.frame[key] for key in ("title", "salutation", "visit_line", "caution", "signoff")]
    headings = [section.heading for section in told.sections]
    return [words(line.text) for line in (*frame, *headings, *told.lines())]


def test_the_headers_are_those_of_a_careful_machine(library: Library) -> None:
    case = a_case()

    message = parsed(made(library, case))

    assert message["From"].addresses[0].addr_spec == library.clinic.sender
    assert message["From"].addresses[0].display_name == library.clinic.short_name
    assert message["Reply-To"] == library.clinic.email
    assert message["To"] == case.patient.email
    assert message["Subject"] == "After your visit to Larkfield Clinic"
    assert message["Auto-Submitted"] == "auto-generated"  # RFC 3834, section 5
    assert re.fullmatch(r"<[0-9a-f]{40}@larkfield\.example>", message["Message-ID"])
    assert message["MIME-Version"] == "1.0"
    assert parsedate_to_datetime(message["Date"]).date() == case.visit_date


@pytest.mark.parametrize("language", LANGUAGES)
def test_text_comes_first_then_html_and_each_part_names_its_language(
    translated: Library, language: str
) -> None:
    message = parsed(made(translated, a_case(patient=a_patient(language=language))))

    # RFC 2046, section 5.1.4: the plainest first.
    assert message.get_content_type() == "multipart/alternative"
    kinds = [part.get_content_type() for part in message.iter_parts()]
    assert kinds == ["text/plain", "text/html"]
    for part in (message, *message.iter_parts()):
        assert part.get_all("Content-Language") == [language]
    for part in message.iter_parts():
        assert part.get_content_charset() == "utf-8"


@pytest.mark.parametrize("language", LANGUAGES)
def test_lines_and_headers_keep_to_the_limits_of_mail(translated: Library, language: str) -> None:
    raw = made(translated, a_case(patient=a_patient(language=language)))

    # RFC 5322, section 2.1.1: 998 octets without CRLF, and CR and LF only together.
    assert all(len(line) <= 998 for line in raw.split(b"\r\n"))
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert b"\r" not in raw.replace(b"\r\n", b"")
    assert raw.isascii()


@pytest.mark.parametrize("language", LANGUAGES)
def test_encoded_lines_are_no_longer_than_76(translated: Library, language: str) -> None:
    """RFC 2045, 6.7, rule 5: line end not counted, ``=`` of a soft one counted."""
    patient = a_patient(language=language, name="Ł" * 90)
    raw = made(translated, a_case(patient=patient), Purpose.SAMPLE)
    longest = max(map(len, raw.split(b"\r\n\r\n", 1)[1].split(b"\r\n")))

    assert 70 < longest <= 76


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_marks_language_and_direction(translated: Library, language: str) -> None:
    _, page = parts(parsed(made(translated, a_case(patient=a_patient(language=language)))))

    direction = "rtl" if language == "ur" else "ltr"
    # On the page and once more inside it, as some mail programs drop the outer element.
    for element in (page, page.xpath("//div[@class='page']")[0]):
        assert (element.get("lang"), element.get("dir")) == (language, direction)


def test_styles_are_inline_and_nothing_is_fetched(library: Library) -> None:
    _, page = parts(parsed(made(library, a_case())))

    assert all(element.get("style") for element in page.xpath("//body//*[self::p or self::h2]"))
    assert "@media" in page.xpath("//style")[0].text
    assert not page.xpath("//script | //img | //link | //iframe | //form | //@src | //@href")
    # Every word is as dark on light as WCAG 2.2 SC 1.4.3 asks: colours are checked by hand there.
    assert page.xpath("count(//h1)") == 1


@given(case=cases())
@settings(max_examples=30, deadline=None)
def test_text_and_page_say_the_same_and_all_of_it(library: Library, case: Case) -> None:
    case = replace(case, patient=replace(case.patient, email="orla@example.org"))

    text, page = parts(parsed(made(library, case)))

    sentences = said(case, library)
    assert sentences
    blocks = [words(e.text_content()) for e in page.xpath("//body//p|//body//li|//h1|//h2")]
    assert [block for block in blocks if block not in sentences] == [words(library.clinic.name)]
    marks = re.compile(r"^(- |\d+\. |== )|( ==)$")
    lines = [marks.sub("", words(line)) for line in text.splitlines() if line.strip()]
    assert [line for line in lines if line not in sentences] == ["--------"]
    assert [sentence for sentence in sentences if sentence not in blocks] == []
    assert [sentence for sentence in sentences if sentence not in lines] == []


def test_urgent_signs_and_contact_come_first_in_both(library: Library) -> None:
    text, page = parts(parsed(made(library, a_case())))

    first = words(page.xpath("//div[@class='first']")[0].text_content())
    assert "Too dizzy to stand up." in first
    assert library.clinic.phone in first
    assert (
        text.index("When to get help") < text.index("How to reach us") < text.index("What we did")
    )


@given(name=names())
@example("<script>alert(1)</script>")
@example("&lt;b&gt; &amp;amp;")
@settings(max_examples=80, deadline=None)
def test_any_name_comes_out_as_text_in_both(library: Library, name: str) -> None:
    case = a_case(patient=a_patient(name=name), clinician=name)
    plain = parsed(made(library, a_case()))

    message = parsed(made(library, case))

    text, page = parts(message)
    assert f"Dear {words(name)}," in words(text)
    assert words(f"Dear {name},") in [words(e.text_content()) for e in page.xpath("//p")]
    tags = [element.tag for element in page.iter()]
    assert tags == [element.tag for element in parts(plain)[1].iter()]
    assert message.keys() == plain.keys()
    assert name not in str(message["Subject"]) or name in str(plain["Subject"])


@given(text=hostile_texts())
@example("=?utf-8?q?a=0D=0ABcc:_x=40y?=")
@example("a\r\nBcc: x@example.org")
@settings(max_examples=120, deadline=None)
def test_no_text_puts_a_header_into_a_message(library: Library, text: str) -> None:
    clinic = replace(library.clinic, short_name=text)
    told = worded(library, a_case())
    subject = Line((Span("About "), Span(text, Role.NAME)), "frame", approved=True)
    hostile = replace(told, frame={**told.frame, "subject": subject})
    usual = parsed(made(library, a_case()))

    try:
        raw = email(hostile, a_case(), replace(library, clinic=clinic), Purpose.PATIENT)
    except BadText as refused:
        assert refused.place in ("clinic.short_name", "subject")  # noqa: PT017 - either may come
        return

    message = parsed(raw)
    assert message.keys() == usual.keys()
    assert words(message["Subject"]) == words(f"About {text}")
    assert all(byte < 128 for byte in raw.split(b"\r\n\r\n")[0])


@pytest.mark.parametrize(
    "char",
    [
        "\x00",
        "\x0b",
        "\x0c",
        "\r",
        "\n",
        "\x1b",
        "\x7f",
        "\x85",
        "\u2028",
        "\u2029",
        "\u202e",
        "=?",
    ],
)
def test_what_could_break_a_header_is_named_not_sent(char: str) -> None:
    with pytest.raises(BadText, match=rf"clinic: U\+{ord(char[0]):04X}.* at 3 cannot stand"):
        header_safe("clinic", f"abc{char}def")


@pytest.mark.parametrize("text", ["Łąkowa Clinic", "A = B?", "O’Neil, «Ear» (x) <y>", "محمد"])
def test_ordinary_names_may_stand_in_a_header(text: str) -> None:
    assert header_safe("clinic", text) == text


@pytest.mark.parametrize(
    ("address", "written"),
    [
        ("orla@example.org", "orla@example.org"),
        ("o+x.y@sub.example.org", "o+x.y@sub.example.org"),
        # IDNA 2008 (RFC 5891): the domain in ASCII, or no mail server would take it.
        ("orla@łódź.example", f"orla@{'łódź.example'.encode('idna').decode()}"),
    ],
)
def test_an_address_is_written_in_ascii(library: Library, address: str, written: str) -> None:
    message = parsed(made(library, a_case(patient=a_patient(email=address))))

    assert str(message["To"]) == written


@pytest.mark.parametrize(
    "address",
    [
        "",
        "orla",
        "a@b@c.example",
        "zoë@example.org",
        "a b@example.org",
        "a@b.example\r\nBcc: c@d.e",
        "=?utf-8?q?orla?=@example.org",
    ],
)
def test_an_address_that_is_none_is_refused_without_repeating_it(
    library: Library, address: str
) -> None:
    with pytest.raises(BadText) as caught:
        made(library, a_case(patient=a_patient(email=address)))

    assert caught.value.place == "patient.email"
    assert not address or address not in str(caught.value)


def test_the_clinics_own_words_are_text_too(library: Library) -> None:
    odd = "<b>Ear & Co</b> &lt;"
    clinic = replace(library.clinic, name=odd, short_name=odd)
    told = worded(library, a_case())
    stamp = Line((Span(odd),), "frame", approved=True)
    marked = replace(told, frame={**told.frame, "stamp": stamp, "title": stamp})

    raw = email(marked, a_case(), replace(library, clinic=clinic), Purpose.SAMPLE)

    _, page = parts(parsed(raw))
    assert not page.xpath("//b")
    assert page.xpath("//title")[0].text == odd
    for place in ("//p[@class='from']", "//p[@class='stamp']", "//h1"):
        assert page.xpath(place)[0].text_content() == odd


def test_without_an_address_there_is_no_message(library: Library) -> None:
    with pytest.raises(BadText, match="no e-mail address"):
        made(library, a_case(patient=a_patient(email=None)))


def test_a_sample_says_so_in_subject_text_and_page(library: Library) -> None:
    message = parsed(made(library, a_case(), Purpose.SAMPLE))

    text, page = parts(message)
    assert message["Subject"].startswith("Sample, not for patients: ")
    assert text.splitlines()[0] == "Sample, not for patients"
    assert words(page.xpath("//body")[0].text_content()).startswith("Sample, not for patients")
    assert b"Sample" not in made(library, a_case())


def test_the_same_visit_is_the_same_bytes_and_another_is_another_message(library: Library) -> None:
    case = a_case()
    others = [
        a_case(ref="case-2"),
        a_case(ears=(an_ear("procedure:suction", side=Side.RIGHT),)),
        a_case(clinician="Someone Else"),
        a_case(patient=a_patient(email="b@example.org")),
    ]

    raw = made(library, case)

    assert raw == made(library, case)
    ids = {parsed(made(library, other))["Message-ID"] for other in others}
    ids |= {parsed(raw)["Message-ID"], parsed(made(library, case, Purpose.SAMPLE))["Message-ID"]}
    # RFC 5322, section 3.6.4: an identifier names exactly one message.
    assert len(ids) == len(others) + 2


def test_numbers_and_names_are_isolated_in_right_to_left_mail(translated: Library) -> None:
    text, page = parts(parsed(made(translated, a_case(patient=a_patient(language="ur")))))

    phone = f"\u2066{translated.clinic.phone}\u2069"
    assert phone in text
    assert phone in page.text_content()
    assert f"\u2068{translated.clinic.name}\u2069" in page.text_content()
