"""The characters of GSM-7: the default alphabet and the national language shift tables.

Source: 3GPP TS 23.038 R18, sections 6.2.1 and 6.2.1.1 (default alphabet and its extension),
Annex A.2 (single shift) and A.3 (locking shift). Two cells on which published copies of the
tables disagree are left out, so that a text using them travels in UCS-2, which is always
right: U+0CA1 in the Kannada locking table and the euro sign in the Telugu single shift table.
"""

from __future__ import annotations

from collections.abc import Iterator
from string import ascii_lowercase, ascii_uppercase, digits

from aftercare.errors import BadInput

# In code order, sixteen septets a line; a hole is a space.
DEFAULT = (
    "@£$¥èéùìòÇ\nØø\rÅå"
    "Δ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ"
    " !\"#¤%&'()*+,-./"
    "0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNO"
    "PQRSTUVWXYZÄÖÑÜ§"
    "¿abcdefghijklmno"
    "pqrstuvwxyzäöñüà"
)

# What the escape code turns each of those septets into.
EXTENSION = (
    "          \f     "
    "    ^           "
    "        {}     \\"
    "            [~] "
    "|               "
    "                "
    "     €          "
    "                "
)

# Language identifier -> the characters its table adds to the default alphabet and takes away.
_LATIN_LOCKING = {
    1: ("çĞğİıŞş€", "¡¿ÆØæèìø"),  # Turkish
    3: ("\\^`|~ªºÀÁÂÃÊÍÓÔÕÚáâãçêíóôõú€∞", "¡¤¿ÄÅÆÑÖØßäåæèìñòöøùΓΘΛΞΠΣΦΨΩ"),  # Portuguese
}
_LATIN_SINGLE = {
    1: "çĞğİıŞş",  # Turkish
    2: "ÁÍÓÚáçíóú",  # Spanish
    3: "ÀÁÂÃÊÍÓÔÕÚáâãçêíóôõúΓΘΠΣΦΨΩ",  # Portuguese
}

# The tables of the Indian languages and Urdu share these; code points of the rest follow.
_SHARED_LOCKING = "\n\r !(),.:;?" + digits + ascii_lowercase
_SHARED_SINGLE = "\f@£$¥¿\"¤%&'*+-/<=>¡^_#{}\\[~]|" + ascii_uppercase
_SCRIPT_LOCKING = {
    # Bengali
    4: (
        "0981-0983 0985-098C 098F-0990 0993-09A8 09AA-09B0 09B2 09B6-09B9 09BC-09C4 "
        "09C7-09C8 09CB-09CE 09D7 09DC-09DD 09F0-09F1"
    ),
    # Gujarati
    5: (
        "0A81-0A83 0A85-0A8D 0A8F-0A91 0A93-0AA8 0AAA-0AB0 0AB2-0AB3 0AB5-0AB9 "
        "0ABC-0AC5 0AC7-0AC9 0ACB-0ACD 0AD0 0AE0-0AE3 0AF1"
    ),
    6: "0901-0903 0905-0939 093C-094D 0950 0972 097B-097C 097E-097F",  # Hindi
    # Kannada
    7: (
        "0C82-0C83 0C85-0C8C 0C8E-0C90 0C92-0CA0 0CA2-0CA8 0CAA-0CB3 0CB5-0CB9 "
        "0CBC-0CC4 0CC6-0CC8 0CCA-0CCD 0CD5-0CD6 0CE0-0CE3"
    ),
    # Malayalam
    8: (
        "0D02-0D03 0D05-0D0C 0D0E-0D10 0D12-0D28 0D2A-0D39 0D3D-0D44 0D46-0D48 "
        "0D4A-0D4D 0D57 0D60-0D63 0D79"
    ),
    # Oriya
    9: (
        "0B01-0B03 0B05-0B0C 0B0F-0B10 0B13-0B28 0B2A-0B30 0B32-0B33 0B35-0B39 "
        "0B3C-0B44 0B47-0B48 0B4B-0B4D 0B56-0B57 0B60-0B63"
    ),
    # Punjabi
    10: (
        "0A01-0A03 0A05-0A0A 0A0F-0A10 0A13-0A28 0A2A-0A30 0A32-0A33 0A35-0A36 "
        "0A38-0A39 0A3C 0A3E-0A42 0A47-0A48 0A4B-0A4D 0A51 0A70-0A74"
    ),
    # Tamil
    11: (
        "0B82-0B83 0B85-0B8A 0B8E-0B90 0B92-0B95 0B99-0B9A 0B9C 0B9E-0B9F 0BA3-0BA4 "
        "0BA8-0BAA 0BAE-0BB9 0BBE-0BC2 0BC6-0BC8 0BCA-0BCD 0BD0 0BD7 0BF0-0BF2 0BF9"
    ),
    # Telugu
    12: (
        "0C01-0C03 0C05-0C0C 0C0E-0C10 0C12-0C28 0C2A-0C33 0C35-0C39 0C3D-0C44 "
        "0C46-0C48 0C4A-0C4D 0C55-0C56 0C60-0C63"
    ),
    # Urdu
    13: (
        "0621-0622 0627-0628 062A-0639 0641-0642 0644-0646 0648 064D 064F-0651 "
        "0653-0657 0670 0679-0681 0683-068A 068C-068D 068F 0691 0693 0696 0698-069A "
        "06A6 06A9-06AB 06AF 06B1 06B3 06BA-06BC 06BE 06C1-06C2 06C4 06CC 06D0 06D2 "
        "06D5"
    ),
}
_TELUGU = 12
_SCRIPT_SINGLE = {
    4: "09DF-09E3 09E6-09EF 09F2-09FA",  # Bengali
    5: "0964-0965 0AE6-0AEF",  # Gujarati
    6: "0951-0954 0958-0971",  # Hindi
    7: "0964-0965 0CDE 0CE6-0CEF 0CF1-0CF2",  # Kannada
    8: "0964-0965 0D66-0D75 0D7A-0D7F",  # Malayalam
    9: "0964-0965 0B5C-0B5D 0B5F 0B66-0B71",  # Oriya
    10: "0964-0965 0A59-0A5C 0A5E 0A66-0A6F 0A75",  # Punjabi
    11: "0964-0965 0BE6-0BEF 0BF3-0BF8 0BFA",  # Tamil
    12: "0C58-0C59 0C66-0C6F 0C78-0C7F",  # Telugu
    # Urdu
    13: ("0600-0601 060C-0614 061B 061F 0640 0652 0658 066B-066C 0672-0673 06CD 06D4 06F0-06F9"),
}


def locking_characters(language: int) -> str:
    """What costs one septet under a language's locking table; 0 is the default alphabet."""
    if language == 0:
        return DEFAULT.replace("\x1b", "")
    if language in _LATIN_LOCKING:
        added, taken = _LATIN_LOCKING[language]
        return "".join(c for c in locking_characters(0) if c not in taken) + added
    if language in _SCRIPT_LOCKING:
        return _SHARED_LOCKING + "".join(_characters(_SCRIPT_LOCKING[language]))
    raise BadInput(
        "SMS locking shift table",
        f"TS 23.038 has none for national language {language}",
        "use 0 (default alphabet), 1, or 3 to 13",
    )


def single_characters(language: int) -> str:
    """What a single shift table spells in two septets; 0 is the default extension."""
    extension = EXTENSION.replace(" ", "")
    if language == 0:
        return extension
    if language in _LATIN_SINGLE:
        return extension + _LATIN_SINGLE[language]
    if language in _SCRIPT_SINGLE:
        euro = "" if language == _TELUGU else "€"
        return _SHARED_SINGLE + euro + "".join(_characters(_SCRIPT_SINGLE[language]))
    raise BadInput(
        "SMS single shift table",
        f"TS 23.038 has none for national language {language}",
        "use 0 (default extension) to 13",
    )


def _characters(ranges: str) -> Iterator[str]:
    for span in ranges.split():
        first, _, last = span.partition("-")
        yield from map(chr, range(int(first, 16), int(last or first, 16) + 1))
