"""SMS counting, held against 3GPP TS 23.038/23.040 and against independent libraries."""

import json
import warnings
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from aftercare.errors import BadText
from aftercare.render import gsm, shift_tables

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import smsutil  # also registers its codec "gsm0338"
    from sms_toolkit.constants import UNICODE_CODE_POINT_TO_GSM_MAP as UNICODE_TO_GSM
    from sms_toolkit.messages import profiling

HERE = Path(__file__).parent
VECTORS = json.loads((HERE / "sms_vectors.json").read_text())["vectors"]
SCHEMA = Draft202012Validator(
    json.loads((HERE.parent / "contract" / "sms-count.schema.json").read_text())
)
LIMITS = {"GSM-7": (160, 153), "UCS-2": (70, 67)}
BASIC = shift_tables.DEFAULT.replace("\x1b", "")
EXTENDED = shift_tables.EXTENSION.replace(" ", "")

gsm_texts = st.text(alphabet=BASIC + EXTENDED * 6, max_size=700)
utf16_texts = st.text(alphabet="ąا耳😀a€\u200d", max_size=300)
any_texts = st.one_of(gsm_texts, utf16_texts, st.text(max_size=300))


def units(text: str, encoding: str) -> int:
    """Units by the definition, one character at a time."""
    if encoding == "GSM-7":
        return sum(2 if char in EXTENDED else 1 for char in text)
    return sum(2 if ord(char) > 0xFFFF else 1 for char in text)


# --- Vectors ----------------------------------------------------------------------------


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector["id"])
def test_count_meets_every_vector(vector: dict[str, str | int]) -> None:
    counted = gsm.count(str(vector["text"]))

    encoding = {"GSM7": "GSM-7", "UCS2": "UCS-2"}[str(vector["enc"])]
    assert (counted.encoding, counted.units, counted.parts) == (
        encoding,
        vector["units"],
        vector["segs"],
    )
    assert "".join(counted.texts) == vector["text"]
    assert len(counted.texts) == counted.parts


def test_there_are_64_vectors() -> None:
    assert len(VECTORS) == 64


# TS 23.038 R18 section 6.2.1.1 and TS 23.040 R18 section 9.2.3.24.1: no character is cut.
@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("a" * 161, [153, 8]),
        ("€" * 81, [152, 10]),
        ("a" * 152 + "€" + "a" * 152, [152, 153, 1]),
        ("€" * 153, [152, 152, 2]),
        ("a" * 152 + "€" + "a" * 153, [152, 153, 2]),
        ("😀" * 36, [66, 6]),
        ("ą" * 66 + "😀" + "ą" * 66, [66, 67, 1]),
    ],
)
def test_a_character_that_would_straddle_moves_to_the_next_part(
    text: str, lengths: list[int]
) -> None:
    counted = gsm.count(text)

    assert [units(part, counted.encoding) for part in counted.texts] == lengths


def test_halves_of_a_pair_typed_apart_stay_apart() -> None:
    text = "😀" * 33 + "\ud83d\ude00" + "😀" * 33

    assert "".join(gsm.count(text).texts) == text


# --- Laws -------------------------------------------------------------------------------


@given(any_texts)
def test_parts_joined_are_the_text_and_none_is_over_its_limit(text: str) -> None:
    counted = gsm.count(text)

    alone, joined = LIMITS[counted.encoding]
    assert "".join(counted.texts) == text
    assert all(counted.texts)
    assert counted.parts == len(counted.texts)
    assert counted.units == units(text, counted.encoding)
    assert (counted.parts <= 1) == (counted.units <= alone)
    if counted.parts > 1:
        assert all(units(part, counted.encoding) <= joined for part in counted.texts)


@given(any_texts)
def test_a_part_is_full_unless_the_next_character_would_not_fit(text: str) -> None:
    counted = gsm.count(text)

    for part, following in zip(counted.texts, counted.texts[1:], strict=False):
        over = part + following[0]
        assert units(over, counted.encoding) > LIMITS[counted.encoding][1]


@given(st.text(alphabet=BASIC + EXTENDED + "ąا耳😀", max_size=400), st.text(max_size=3))
@example("€" * 76 + "a", "ą")
@example("a" * 160, "ą")
@example("€" * 80, "ą")
def test_parts_never_fall_as_text_grows(text: str, more: str) -> None:
    assert gsm.count(text + more).parts >= gsm.count(text).parts
    assert gsm.count(more + text).parts >= gsm.count(text).parts


@given(any_texts)
def test_gsm_7_exactly_when_every_character_is_in_the_alphabet(text: str) -> None:
    outside = tuple((c, at) for at, c in enumerate(text) if c not in BASIC + EXTENDED)

    assert (gsm.count(text).encoding == "GSM-7") == (not outside)
    assert gsm.offenders(text) == outside


@given(st.one_of(gsm_texts, utf16_texts))
def test_every_part_encodes_alone_and_the_octets_join_up(text: str) -> None:
    counted = gsm.count(text)

    codec = {"GSM-7": "gsm0338", "UCS-2": "utf-16-be"}[counted.encoding]  # smsutil's codec
    assert b"".join(part.encode(codec) for part in counted.texts) == text.encode(codec)


# --- Independent libraries --------------------------------------------------------------


@given(st.one_of(gsm_texts, utf16_texts))
def test_smsutil_cuts_every_text_alike(text: str) -> None:
    """smsutil 1.1.3. Its faults, left out here: the empty text is one UCS-2 part, the escape
    code counts as a character, halves of surrogate pairs raise."""
    theirs = smsutil.split(text or "a")
    ours = gsm.count(text or "a")

    assert ours.texts == tuple(part.content for part in theirs.parts)
    assert (ours.encoding == "GSM-7") == (theirs.encoding == "gsm0338")


@given(st.one_of(gsm_texts, utf16_texts))
def test_sms_toolkit_cuts_every_text_alike(text: str) -> None:
    """sms-toolkit 1.0.9. Its fault, left out here: half a surrogate pair raises IndexError."""
    theirs = profiling.profile_message(text)

    assert gsm.count(text).texts == tuple(segment["message"] for segment in theirs["segments"])


@pytest.mark.parametrize("code", [code for code in range(128) if code != 0x1B])
def test_each_septet_is_the_character_two_libraries_say(code: int) -> None:
    """Against smsutil 1.1.3 and the map of sms-toolkit 1.0.9; the escape code is no character."""
    char = shift_tables.DEFAULT[code]

    assert bytes([code]).decode("gsm0338") == char
    assert UNICODE_TO_GSM[ord(char)] == [code]


def test_the_default_table_has_128_different_cells() -> None:
    assert len(set(shift_tables.DEFAULT)) == len(shift_tables.DEFAULT) == 128
    assert shift_tables.DEFAULT[0x1B] == "\x1b"


@pytest.mark.parametrize("code", range(128))
def test_each_escaped_septet_is_the_character_two_libraries_say(code: int) -> None:
    """As above. An escaped septet without a character is shown by smsutil as a space and
    the septet's own character."""
    char = shift_tables.EXTENSION[code]
    known = {tuple(octets): chr(char) for char, octets in UNICODE_TO_GSM.items()}

    assert known.get((0x1B, code), " ") == char
    if char != " ":
        assert bytes([0x1B, code]).decode("gsm0338") == char


# --- What may be sent -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "SMS text: it is empty"),
        ("a\x1bb", "character 2 of 3: U+001B (the escape code)"),
        ("a\ud83d", "character 2 of 2: U+D83D (half of a surrogate pair)"),
        ("a" * 39016, "it needs 256 parts and one message may have at most 255"),
        ("耳" * (67 * 255 + 1), "it needs 256 parts"),
    ],
)
def test_what_no_network_can_carry_is_refused_with_place_and_remedy(text: str, said: str) -> None:
    with pytest.raises(BadText) as refused:
        gsm.check_sendable(text, gsm.count(text))

    assert said in str(refused.value)
    assert refused.value.remedy


@pytest.mark.parametrize("text", ["a", "a" * 39015, "耳" * (67 * 255), "👨\u200d👩\u200d👧", "\f"])
def test_what_a_network_can_carry_passes(text: str) -> None:
    gsm.check_sendable(text, gsm.count(text))


def test_a_refusal_quotes_nothing_of_the_text() -> None:
    with pytest.raises(BadText) as refused:
        gsm.check_sendable("Ms Example\x1b", gsm.count("Ms Example\x1b"))

    assert "Example" not in str(refused.value)


@given(any_texts)
def test_a_count_written_as_json_keeps_the_contract(text: str) -> None:
    counted = gsm.count(text)
    answer = {
        "encoding": counted.encoding,
        "units": counted.units,
        "parts": counted.parts,
        "texts": list(counted.texts),
        "offenders": [{"char": char, "at": at} for char, at in gsm.offenders(text)],
    }

    SCHEMA.validate(answer)
