"""The chain of what happened: every change to it is found, and told by its row."""

from __future__ import annotations

import hashlib
import hmac

import pytest
from made_up_register import deed, row, take_in
from sqlalchemy import text

from aftercare.edges.register import anchor
from aftercare.edges.register.chain import Link, Reading, Tail, code, sealed
from aftercare.edges.register.copies import verify
from aftercare.edges.register.register import SqlRegister, make_register, open_register
from aftercare.errors import OutOfReach
from aftercare.recall.people import What

KEY = bytes(range(32))
LINKS = [Link(0, "2026-11-30T12:00:00Z", n, "snoozed", "Ann", "{}") for n in range(1, 6)]


def grown(register: SqlRegister, rows: int = 5) -> SqlRegister:
    take_in(register, row(1))
    for _ in range(rows - 1):
        person = register.person("P0000001")
        assert person is not None
        register.change(deed(What.CORRECTED), (person, person))
    return register


def test_the_code_is_hmac_sha256_of_rfc_2104_written_out() -> None:
    """RFC 2104: H(K xor opad, H(K xor ipad, text)), the key filled to the block of 64 octets."""
    link = LINKS[0]._replace(seq=1)
    said = b'["ab",1,"2026-11-30T12:00:00Z",1,"snoozed","Ann","{}"]'
    block = KEY.ljust(64, b"\0")
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in block) + said).digest()
    outer = hashlib.sha256(bytes(b ^ 0x5C for b in block) + inner).hexdigest()

    assert code(KEY, "ab", link) == outer


def test_hmac_sha256_here_is_that_of_rfc_4231() -> None:
    """RFC 4231, test case 2."""
    mac = hmac.new(b"Jefe", b"what do ya want for nothing?", hashlib.sha256).hexdigest()

    assert mac == "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"


def read(links: list[Link], anchors: tuple[Tail, ...] = (Tail(),)) -> list[tuple[int, str]]:
    return [(one.seq, one.because) for one in Reading(KEY, anchors).follow(links).broken]


def test_a_chain_as_it_was_written_is_whole() -> None:
    links = list(sealed(KEY, Tail(), LINKS))
    end = Tail(5, links[-1].mac)

    assert read(links, (end,)) == []
    assert read(links, (Tail(3, links[2].mac),)) == []
    assert read(links, (Tail(9, "x"), end)) == []


@pytest.mark.parametrize("field", ["at", "pid", "what", "by", "details", "mac"])
@pytest.mark.parametrize("seq", [1, 3, 5])
def test_an_altered_row_is_found_exactly(field: str, seq: int) -> None:
    links = list(sealed(KEY, Tail(), LINKS))
    new = 77 if field == "pid" else "0" * 64
    links[seq - 1] = links[seq - 1]._replace(**{field: new})

    found = [at for at, because in read(links) if because.startswith("altered")]

    # A row whose code was altered does not fit, and the next does not follow from it.
    assert found == ([seq, seq + 1][: 6 - seq] if field == "mac" else [seq])


def test_a_row_sealed_with_another_key_is_found() -> None:
    links = list(sealed(KEY, Tail(), LINKS))
    forged = next(iter(sealed(bytes(32), Tail(2, links[1].mac), [LINKS[2]])))

    assert (3, "altered since it was written") in read([*links[:2], forged, *links[3:]])


def test_missing_rows_are_told_by_number() -> None:
    links = list(sealed(KEY, Tail(), LINKS))

    assert read([links[0], *links[3:]]) == [(2, "missing, up to row 4")]
    assert read(links[1:]) == [(1, "missing, up to row 2")]


def test_a_cut_tail_is_found_by_the_anchor_alone() -> None:
    links = list(sealed(KEY, Tail(), LINKS))

    assert read(links[:3]) == []
    assert read(links[:3], (Tail(5, links[-1].mac),)) == [(4, "cut: 2 more were here")]
    assert read([], (Tail(5, links[-1].mac),)) == [(1, "cut: 5 more were here")]


def test_a_chain_rewritten_with_the_key_is_found_by_the_anchor() -> None:
    links = list(sealed(KEY, Tail(), LINKS))
    other = list(sealed(KEY, Tail(), [one._replace(by="Eve") for one in LINKS]))

    assert read(other, (Tail(5, links[-1].mac),)) == [(5, "not the row the anchor was written for")]


def test_what_was_done_is_whole_and_anchored(register: SqlRegister) -> None:
    grown(register)

    checked = verify(register)

    assert checked.sound
    assert checked.tail.count == 5
    assert anchor.read_anchors(register.place) == (checked.tail,)


@pytest.mark.parametrize(
    ("harm", "found"),
    [
        ("UPDATE happened SET by = 'Eve' WHERE seq = 3", (3, "altered since it was written")),
        ("DELETE FROM happened WHERE seq = 2", (2, "missing, up to row 3")),
        ("DELETE FROM happened WHERE seq >= 4", (4, "cut: 2 more were here")),
    ],
)
def test_harm_done_to_the_database_is_told_by_its_row(
    register: SqlRegister, harm: str, found: tuple[int, str]
) -> None:
    grown(register)
    with register.engine.begin() as connection:
        connection.execute(text(harm))

    assert [(one.seq, one.because) for one in verify(register).broken] == [found]


def test_nothing_is_built_on_a_chain_that_was_cut(register: SqlRegister) -> None:
    grown(register)
    with register.engine.begin() as connection:
        connection.execute(text("DELETE FROM happened WHERE seq >= 4"))

    with pytest.raises(OutOfReach, match="cut or replaced: 5 rows"):
        take_in(register, row(2))

    assert register.person("P0000002") is None
    assert verify(register).tail.count == 3


def test_an_anchor_left_behind_by_a_killed_run_is_no_alarm(register: SqlRegister) -> None:
    grown(register, 3)
    behind = register.place.anchor.read_bytes()
    grown(register, 3)
    register.place.anchor.write_bytes(behind)

    assert verify(register).sound
    take_in(register, row(3))
    assert anchor.read_anchors(register.place) == (verify(register).tail,)


def test_the_anchor_never_moves_back(register: SqlRegister) -> None:
    grown(register)
    (there,) = anchor.read_anchors(register.place)

    anchor.advance(register.place, Tail(3, "late"))

    assert anchor.read_anchors(register.place) == (there,)


def test_a_lost_key_is_asked_for_and_never_made_anew(register: SqlRegister) -> None:
    grown(register)
    register.place.key.unlink()

    for opener in (open_register, make_register):
        opened = opener(register.place)
        assert opened.person("P0000001") is not None
        with pytest.raises(OutOfReach, match="bring it back"):
            take_in(opened, row(2))
        opened.close()
    assert not register.place.key.exists()


def test_a_key_that_is_not_one_is_refused(register: SqlRegister) -> None:
    register.place.key.write_text("not hexadecimal")

    with pytest.raises(OutOfReach, match="not the key of a chain"):
        take_in(register, row(2))


def test_two_who_make_a_key_get_the_same(register: SqlRegister) -> None:
    first = anchor.read_key(register.place)

    assert anchor.make_key(register.place) == first
    assert register.place.key.stat().st_mode & 0o777 == 0o600


def test_an_anchor_that_is_garbage_is_refused(register: SqlRegister) -> None:
    grown(register)
    register.place.anchor.write_text("lots of rows")

    with pytest.raises(OutOfReach, match="not readable as an anchor"):
        take_in(register, row(2))
