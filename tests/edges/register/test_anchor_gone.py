"""An anchor that is gone is missed: it is what shows a chain that was cut at its end."""

from __future__ import annotations

from pathlib import Path

from made_up_register import deed, row, take_in
from sqlalchemy import text

from aftercare.edges.register import anchor
from aftercare.edges.register.chain import Tail
from aftercare.edges.register.copies import backup, restore, verify
from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister, make_register, open_register
from aftercare.recall.people import What

GONE = "the anchor is gone"


def told(register: SqlRegister) -> list[str]:
    return [one for one in verify(register).damage if one.startswith(GONE)]


def test_a_new_register_has_its_anchor_before_its_first_row(file_register: SqlRegister) -> None:
    assert anchor.read_anchors(file_register.place) == (Tail(),)
    assert file_register.place.anchor.stat().st_mode & 0o777 == 0o600
    assert verify(file_register).sound


def test_whoever_cuts_the_chain_and_takes_the_anchor_along_is_noticed_and_stays_so(
    file_register: SqlRegister,
) -> None:
    take_in(file_register, row(1))
    take_in(file_register, row(1, first_name="Changed"))
    with file_register.engine.begin() as connection:
        connection.execute(text("DELETE FROM happened WHERE seq = 2"))
    file_register.place.anchor.unlink()

    assert told(file_register)
    take_in(file_register, row(2))
    assert told(file_register)  # work goes on, and does not bury it
    open_register(file_register.place).close()
    assert told(file_register)


def test_a_chain_that_was_emptied_is_missed_though_an_anchor_is_begun_anew(
    file_register: SqlRegister,
) -> None:
    take_in(file_register, row(1))
    with file_register.engine.begin() as connection:
        connection.execute(text("DELETE FROM happened"))
    file_register.place.anchor.unlink()
    open_register(file_register.place).close()

    assert verify(file_register).damage == (
        "nothing is told of how anybody came into the register",
    )


def test_a_copy_that_is_brought_back_has_an_anchor_again(
    file_register: SqlRegister, tmp_path: Path
) -> None:
    take_in(file_register, row(1))
    file_register.place.anchor.unlink()
    backup(file_register, tmp_path / "copy")

    restore(file_register.place, tmp_path / "copy", tmp_path / "kept", deed(What.RESTORED))

    assert verify(file_register).sound
    assert anchor.read_anchors(file_register.place) == (verify(file_register).tail,)


def test_another_machine_of_a_server_begins_its_own(postgresql: Place, tmp_path: Path) -> None:
    one = make_register(postgresql)
    take_in(one, row(1))
    (tmp_path / "other").mkdir()
    there = Place(beside=tmp_path / "other" / "register", url=postgresql.url)
    there.key.write_text(postgresql.key.read_text())

    other = open_register(there)

    assert verify(other).sound
    take_in(other, row(2))
    assert anchor.read_anchors(there) == (verify(one).tail,)
    one.close()
    other.close()
