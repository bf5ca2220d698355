"""The glossary: meanings for everybody, and the one translation of each term by language."""

from __future__ import annotations

import pytest

from aftercare.errors import BadContent
from aftercare.library.wordlists import parse_glossary, parse_terms

WHOLE = b"""\
[terms]
wax = "soft matter"
grommet = "a tube"

[terms.pl]
wax = ["woskowin*"]
grommet = ["drenik*", "rurka"]
"""


def test_meanings_and_translations_stand_side_by_side() -> None:
    assert parse_glossary("g.toml", WHOLE) == {"wax": "soft matter", "grommet": "a tube"}
    assert parse_terms("g.toml", WHOLE) == {
        "pl": {"wax": ["woskowin*"], "grommet": ["drenik*", "rurka"]}
    }


@pytest.mark.parametrize("wrong", [b'"woskowina"', b"[]", b"[1]", b'[""]', b"3"])
@pytest.mark.parametrize("parse", [parse_glossary, parse_terms])
def test_a_translation_that_is_no_list_of_words_is_told_of_by_its_line(
    wrong: bytes, parse: type
) -> None:
    with pytest.raises(BadContent, match=r"g\.toml:6: 'wax' in \[terms\.pl\] is not a list"):
        parse("g.toml", WHOLE.replace(b'["woskowin*"]', wrong))
