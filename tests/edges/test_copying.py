"""What glyphs are said to stand for, in a file made by hand; whole leaflets are in tests/scripts.

The file's parts are as ISO 32000-2 has them: 9.7.4.3 widths, 9.10.3 ToUnicode, 14.9.4 ActualText
(numbers from memory).
"""

from __future__ import annotations

import re
from io import BytesIO

import pikepdf
from pikepdf import Array, Dictionary, Name

from aftercare.edges.copying import mended

# More glyphs than one byte counts.
FIRST = 257
# Lam-alef, alef maksura, beh with tanwin, its tanwin alone, the Latin fi and an e with a sign.
LETTERS = ("\u0644\u0627", "\u0649", "\u0628\u064b", "\u0628\u064b", "fi", "e\u0301")
NAMES = dict(enumerate(LETTERS, start=FIRST))
WIDTHS = Array([FIRST, Array([600, 500, 400, 0]), FIRST + 4, FIRST + 5, 300])


def made(shown: str, *, widths: Array = WIDTHS) -> bytes:
    """A page of one font, whose text is what these operators show."""
    lines = "".join(f"<{glyph:04X}> <{written(name)}>\n" for glyph, name in NAMES.items())
    document = pikepdf.new()
    document.add_blank_page()
    table = f"{len(NAMES)} beginbfchar\n{lines}endbfchar\n"
    font = Dictionary(
        Type=Name.Font, Subtype=Name.Type0, BaseFont=Name.Made, Encoding=Name("/Identity-H"),
        DescendantFonts=Array([Dictionary(Type=Name.Font, Subtype=Name.CIDFontType2, W=widths)]),
        ToUnicode=document.make_stream(table.encode()),
    )  # fmt: skip
    page = document.pages[0]
    page.Resources = Dictionary(Font=Dictionary(f0=document.make_indirect(font)))
    page.Contents = document.make_stream(f"BT {shown} ET".encode())
    out = BytesIO()
    document.save(out)
    return out.getvalue()


def written(text: str) -> str:
    return text.encode("utf-16-be").hex().upper()


def said(text: str, glyph: int) -> str:
    return (
        f"/Span<</ActualText<FEFF{written(text)}>>>BDC /f0 12 Tf <{FIRST - 1 + glyph:04X}> Tj EMC"
    )


def names(pdf: bytes) -> dict[int, str]:
    with pikepdf.open(BytesIO(pdf)) as document:
        table = document.pages[0].Resources.Font.f0.ToUnicode.read_bytes().decode()
    pairs = re.findall(r"<(\w+)> <(\w+)>", table)
    return {
        int(glyph, 16) - FIRST + 1: bytes.fromhex(name).decode("utf-16-be") for glyph, name in pairs
    }


def shown(pdf: bytes) -> str:
    with pikepdf.open(BytesIO(pdf)) as document:
        return document.pages[0].Contents.read_bytes().decode().removesuffix("\n")


def test_letters_drawn_as_one_stand_in_the_order_of_their_run_and_signs_by_themselves() -> None:
    assert names(mended(made(""))) == {
        1: "\u0627\u0644", 2: "\u0649", 3: "\u0628", 4: "\u064b", 5: "fi", 6: "e\u0301",
    }  # fmt: skip


def test_widths_may_be_told_of_many_glyphs_at_once() -> None:
    told = names(mended(made("", widths=Array([FIRST, FIRST + 2, 500, FIRST + 3, FIRST + 5, 0]))))

    assert (told[1], told[3], told[4], told[6]) == ("\u0627\u0644", "\u0628", "\u064b", "e\u0301")


def test_what_is_said_twice_is_said_by_the_names_alone() -> None:
    run = said("\u062f\u064b", 4)

    assert shown(mended(made(run))) == "BT /Span BMC /f0 12 Tf <0104> Tj EMC ET"


def test_a_glyph_that_stands_for_another_letter_here_keeps_what_is_said_of_it() -> None:
    farsi, latin = said("\u06cc", 2), said("f", 5)

    assert shown(mended(made(f"{farsi} {latin}"))) == f"BT {farsi} {latin} ET"


def test_a_sign_that_its_name_does_not_say_is_said_without_its_letter() -> None:
    both, sign = said("\u0627\u064d", 4), said("\u064d", 4)

    assert shown(mended(made(both))) == f"BT {sign} ET"


def test_equal_files_stay_equal() -> None:
    page = made(said("\u062f\u064b", 4))

    assert mended(page) == mended(page)
