"""What is read of a file somebody wants scored: every word, in its place, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from email.message import EmailMessage
from functools import partial
from time import perf_counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import refusal_of
from made_up_blocks import block

from aftercare.edges.html_words import html_words
from aftercare.edges.words_in import TEXT_BYTES, block_words, words_in
from aftercare.errors import BadContent, BadInput
from aftercare.library import block_paths
from aftercare.model import Library
from aftercare.proof import held_to
from aftercare.proof.reading import costs
from aftercare.proof.stand_ins import stand_ins
from aftercare.score import score_text


def read(raw: bytes | str, name: str = "a.md") -> str:
    return words_in(name, raw.encode() if isinstance(raw, str) else raw)


# --- text and Markdown ------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a.md", "a.txt", "standard input", "a", "a.markdown", "a.MD"])
def test_a_text_is_read_as_it_stands(name: str) -> None:
    text = "# Ears\n\nKeep **dry**.\n\n- One\n- Two\n"

    assert read(text, name) == text


def test_line_ends_and_a_byte_order_mark_are_no_words() -> None:
    assert read(b"\xef\xbb\xbfOne.\r\nTwo.\rThree.") == "One.\nTwo.\nThree."


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"a\xff", "not text: byte 1 is not UTF-8"),
        ("Ohr trocknen fürs Erste".encode("latin-1"), "not text: byte 14 is not UTF-8"),
        ("Keep it dry.".encode("utf-16"), "not text: byte 0 is not UTF-8"),
        (b"PK\x03\x04\x14\x00\x06\x00", "a NUL character (U+0000) at position 5"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "not text: byte 10 is not UTF-8"),
        (b"ab\x00c", "a NUL character (U+0000) at position 2"),
    ],
)
def test_what_is_no_text_is_refused_with_its_name_and_place(raw: bytes, told: str) -> None:
    with pytest.raises(BadInput) as refused:
        read(raw, "folder/a.md")

    assert refused.value.place == "folder/a.md"
    assert told in str(refused.value)
    assert refused.value.remedy


def test_a_file_that_is_too_large_is_refused_before_it_is_read() -> None:
    for name in ("a.txt", "a.eml"):
        with pytest.raises(BadInput, match="over 16,000,000 bytes; score it in parts"):
            words_in(name, b"a" * (TEXT_BYTES + 1))


def test_a_header_of_keys_is_no_words_and_the_lines_below_keep_their_numbers() -> None:
    text = read("---\ntitle: Ears\nauthor: A. N. Editor\n---\n# Ears\n\nKeep dry.\n")

    assert text == "\n\n\n\n# Ears\n\nKeep dry.\n"


@pytest.mark.parametrize(
    "text",
    [
        "---\n\nKeep dry.\n\n---\n\nRest.\n",  # two rules around a paragraph
        "---\nKeep dry\n---\nRest.\n",  # a line that is no key
        "---\nkey: a header without an end\n",
        "----\nkey: value\n----\n",
        "---",
        "Keep dry.\n---\nkey: value\n---\n",
    ],
)
def test_words_between_rules_are_words(text: str) -> None:
    assert read(text) == text


# --- blocks -----------------------------------------------------------------------------


def test_a_block_is_read_on_its_own_lines_in_the_first_wording_of_each_unit() -> None:
    body = (
        "Keep **dry**.\n\n"
        "- [side:left] Left.\n- [side:right] Right.\n- [side:both] Both.\n"
        "- Every ear\n  at once.\n\n"
        "1. Sit.\n2. Rest.\n"
    )
    text = block("b", body)
    lines = read(text).split("\n")

    kept = {number: line for number, line in enumerate(lines, 1) if line}
    source = text.split("\n")
    assert list(kept.values()) == [
        "Keep **dry**.",
        "- Left.",
        "- Every ear at once.",
        "1. Sit.",
        "2. Rest.",
    ]
    for number, line in kept.items():
        assert line.split()[-1].strip("*.") in source[number - 1] or "at once" in line


def test_a_block_is_known_by_its_header_wherever_it_comes_from() -> None:
    text = block("b", "Keep dry.\n")

    assert read(text, "standard input").strip() == read(text, "b.txt").strip() == "Keep dry."
    assert read(text.replace("\n", "\r\n").encode()).strip() == "Keep dry."


def test_slots_are_filled_where_there_is_a_value_and_no_words_where_there_is_none() -> None:
    text = block("b", "Call {clinic_phone} before {recall_date}.\n", given="recall:agreed")

    filled = block_words("b.md", text, {"recall_date": "Saturday, 24 May 2027"})

    assert filled.strip() == "Call {clinic_phone} before Saturday, 24 May 2027."
    # Call, before, and the date's four.
    assert score_text(filled).counts.words == 6
    assert score_text(block_words("b.md", text)).counts.words == 2


def test_a_block_with_a_fault_is_told_with_its_line() -> None:
    text = block("b", "Keep dry.\n\n## No headings here\n")

    with pytest.raises(BadContent) as refused:
        read(text, "content/b.md")

    line = text.split("\n").index("## No headings here") + 1
    assert refused.value.place == f"content/b.md:{line}"


def test_every_block_of_the_shelf_counts_as_content_check_counts_it(
    library: Library, shelf: Mapping[str, bytes]
) -> None:
    """Of blocks with several wordings, the first one of each unit is read."""
    (slots,) = stand_ins(library, "en", held_to("en", library))
    known = {(one.wording.block, one.counts) for one in costs(library, "en")}
    # Recall messages are scored whole: proof/reminders.py.
    named = {block.place: block.id for block in library.blocks}
    assert named.keys() <= set(block_paths(shelf))
    for name, found in named.items():
        text = words_in(name, shelf[name], slots)
        counts = score_text(text).counts
        assert (found, counts) in known, name


# --- e-mail -----------------------------------------------------------------------------


def mail(plain: str | None = None, html: str | None = None, **how: str) -> bytes:
    message = EmailMessage()
    message["Subject"] = "Your ears"
    if plain is not None:
        message.set_content(plain, **how)
    if html is not None and plain is not None:
        message.add_alternative(html, subtype="html", **how)
    elif html is not None:
        message.set_content(html, subtype="html", **how)
    return message.as_bytes()


@pytest.mark.parametrize("cte", ["7bit", "quoted-printable", "base64"])
def test_a_plain_e_mail_is_its_body_however_it_travelled(cte: str) -> None:
    assert read(mail("Keep dry.\n\n- Rest\n", cte=cte), "a.eml") == "Keep dry.\n\n- Rest\n"


@pytest.mark.parametrize("charset", ["utf-8", "iso-8859-1", "windows-1252", "iso-8859-2"])
def test_the_letters_are_those_the_e_mail_declares(charset: str) -> None:
    told = mail("Müde Ohren.\n", charset=charset, cte="base64")

    assert read(told, "a.eml") == "Müde Ohren.\n"


@pytest.mark.parametrize("name", ["a.eml", "A.EML", "folder.md/a.Eml"])
def test_the_html_part_comes_first_since_it_knows_headings_and_lists(name: str) -> None:
    page = "<h1>Ears</h1><p>Keep dry.</p><ul><li>Rest</li></ul><ol><li>Sit</li></ol>"

    assert read(mail("Plain.", page), name) == "# Ears\n\nKeep dry.\n\n- Rest\n\n1. Sit\n"


def test_a_html_part_that_says_nothing_gives_way_to_the_plain_one() -> None:
    assert read(mail("Keep dry.\n", "<img src=cid:x>"), "a.eml") == "Keep dry.\n"


def test_attachments_and_headers_are_no_words() -> None:
    message = EmailMessage()
    message["Subject"] = "Subject words"
    message.set_content("Keep dry.\n")
    message.add_attachment("Attached words.", filename="a.txt")

    assert read(message.as_bytes(), "a.eml") == "Keep dry.\n"


def test_an_e_mail_inside_related_and_mixed_parts_is_found() -> None:
    message = EmailMessage()
    message.set_content("Plain.")
    message.add_alternative("<p>Keep dry.</p>", subtype="html")
    page = message.get_payload(1)
    page.add_related(b"x", "image", "png", cid="<x>")  # type: ignore[union-attr]  # the stub allows a str
    message.add_attachment(b"x", maintype="application", subtype="pdf", filename="a.pdf")

    assert read(message.as_bytes(), "a.eml") == "Keep dry.\n"


def test_attachments_alone_are_no_text() -> None:
    message = EmailMessage()
    message.add_attachment(b"%PDF", maintype="application", subtype="pdf", filename="a.pdf")

    with pytest.raises(BadInput, match=r"a\.eml: an e-mail without text; save the message"):
        read(message.as_bytes(), "a.eml")


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"Content-Type: text/plain; charset=nonsense\n\nHi", "cannot be read"),
        (b"Content-Type: text/plain; charset=rot13\n\nHi", "cannot be read"),
        (b"Content-Type: text/plain; charset=us-ascii\n\nm\xfcde", "some letters cannot be read"),
        (b"Content-Type: text/plain; charset=utf-8\n\nm\xfcde", "some letters cannot be read"),
        (b"Content-Type: multipart/mixed; boundary=b\n\nno parts", "an e-mail without text"),
        (b"Content-Type: multipart/related\n\nno boundary", "an e-mail"),
        (b"Content-Type: message/rfc822\n\nSubject: a\n\nHi", "an e-mail without text"),
        (b"Content-Type: text/plain; charset=utf-8\n\na\x00b", "a NUL character"),
    ],
)
def test_an_e_mail_that_cannot_be_read_is_refused(raw: bytes, told: str) -> None:
    with pytest.raises(BadInput, match=told) as refused:
        read(raw, "a.eml")

    assert refused.value.place == "a.eml"


def test_an_e_mail_nested_without_end_is_refused() -> None:
    deep = b"".join(
        b"Content-Type: multipart/mixed; boundary=b%d\n\n--b%d\n" % (n, n) for n in range(1_500)
    )

    with pytest.raises(BadInput):
        read(deep + b"\nHi", "a.eml")


def test_an_empty_e_mail_has_no_words() -> None:
    assert read(b"", "a.eml").strip() == ""


MAIL = mail("Keep dry.\n", "<p>Keep &amp; dry.</p>", cte="quoted-printable")


@given(
    place=st.integers(0, len(MAIL)),
    put=st.sampled_from(
        (b"", b"\n", b"\xff", b"=", b";", b'"', b"\x00", b"*0*=", b"boundary", b"multipart/", b"<")
    ),
    cut=st.integers(0, 12),
)
@settings(max_examples=200, deadline=None)
def test_a_damaged_e_mail_is_read_or_refused(place: int, put: bytes, cut: int) -> None:
    damaged = MAIL[:place] + put + MAIL[place + cut :]

    refused = refusal_of(lambda: read(damaged, "a.eml"))

    assert refused is None or isinstance(refused, BadInput)


# --- HTML -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("page", "words"),
    [
        ("<p>One.</p><p>Two.", ["One.", "Two."]),
        ("One<br>Two<br/>Three", ["One", "Two", "Three"]),
        ("<p>One <b>two</b> <a href='x'>three</a></p>", ["One two three"]),
        ("<div><section>One</section></div><blockquote>Two</blockquote>", ["One", "Two"]),
        ("<table><tr><th>One<td>Two</table>", ["One", "Two"]),
        ("<ul><li><p>One</p><p>More</p></li><li>Two</ul>", ["- One", "More", "- Two"]),
        ("<ol><li>One<ul><li>In</ul><li>Two</ol>", ["1. One", "- In", "1. Two"]),
        ("<li>One</li>", ["- One"]),
        ("<h1><div>Ears</div></h1><p>One", ["# Ears", "One"]),
        ("<h2></h2>One", ["One"]),
        # A heading nobody closed is one line.
        ("<h1>Ears<p>One", ["# Ears", "One"]),
        # What no reader sees.
        ("<title>Ears</title><p>One", ["One"]),
        ("<head><title>Ears<body>One", ["One"]),
        ("<head><meta charset=utf-8><p>One", ["One"]),
        ("<style>p { color: red }</style>One<script>let a = '<p>no'</script>", ["One"]),
        ("<STYLE>p</STYLE>One", ["One"]),
        ("One<!-- no --><!-- > no --> two<![if !x]>three<![endif]>", ["One twothree"]),
        ("<?xml version='1.0'?><!DOCTYPE html>One", ["One"]),
        # What is no tag.
        ("1 < 2 and 3 > 2", ["1 \\< 2 and 3 > 2"]),
        ("&lt;b&gt; is bold &amp; &#8220;so&#8221;", ["\\<b> is bold & “so”"]),
        ("<3 ears", ["\\<3 ears"]),
        ("a</>b", ["a\\</>b"]),
        ('<p title="a > b">One', ["One"]),
        ('<p title="a>One</p><p>Two</p>', ["One", "Two"]),
        ("<o:p>One</o:p> two", ["One two"]),
        ("", []),
        ("<", ["\\<"]),
        ("One<p", ["One"]),
    ],
)
def test_a_page_is_what_its_reader_sees(page: str, words: list[str]) -> None:
    assert html_words(page) == ("\n\n".join(words) + "\n" if words else "")


@given(st.text(st.sampled_from("<>/!-\"'= abp&;#x[]?"), max_size=60))
@settings(max_examples=200, deadline=None)
def test_any_page_at_all_is_read(page: str) -> None:
    score_text(html_words(page))


@given(st.lists(st.sampled_from(("One two.", "<p>", "</p>", "<b>", "</div>", "<li>", "<h1>", "x"))))
@settings(max_examples=100, deadline=None)
def test_no_word_of_a_page_is_lost(pieces: list[str]) -> None:
    said = "".join(html_words("".join(pieces)).split())
    wanted = "".join("".join(piece for piece in pieces if piece[0] != "<").split())

    assert said.replace("-", "").replace("#", "").replace("1.", "") == wanted


@pytest.mark.parametrize(
    "again",
    ["<!--", "<a ", "<![", '<a "> ', '<a "> "', "<a x='", "<style>", "&#", "<p>", "</", "<?", "<"],
)
def test_time_grows_with_the_page_and_not_with_its_faults(again: str) -> None:
    """The standard library's parser takes six minutes for 200 kilobytes of the second."""
    page = again * (200_000 // len(again))

    before = perf_counter()
    html_words(page)

    assert perf_counter() - before < 5


def test_the_e_mail_of_a_block_s_words_says_what_the_block_says() -> None:
    """HTML, Markdown and plain text of the same words count the same."""
    markdown = "# Ears\n\nKeep dry.\n\n- Rest\n- Sit\n"
    page = "<h1>Ears</h1><p>Keep dry.</p><ul><li>Rest</li><li>Sit</li></ul>"

    assert (
        score_text(read(markdown)).as_dict()
        == score_text(read(mail(None, page), "a.eml")).as_dict()
        == score_text(read(mail(markdown), "a.eml")).as_dict()
    )


@pytest.mark.parametrize(
    "head",
    [
        "id: x\nkind: y\nfor: []\n",
        "id: [\nkind: \nfor: \n",
        "id: &a x\nkind: *a\nfor: 1\n",
    ],
)
def test_a_block_whose_header_is_wrong_is_refused_as_one(head: str) -> None:
    assert isinstance(refusal_of(partial(read, f"---\n{head}---\nRest.\n")), BadContent)
