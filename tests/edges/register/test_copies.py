"""Backups: taken while others write, checked, and brought back without losing what was there."""

from __future__ import annotations

from pathlib import Path

import pytest
from made_up_register import CAVITY, contents, deed, file_place, reminder, row, take_in
from sqlalchemy import text

from aftercare.edges.register import anchor, copies
from aftercare.edges.register.copies import backup, restore, verify
from aftercare.edges.register.editions import EDITIONS, bring_up_to
from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister, make_register, open_register
from aftercare.errors import BadInput, OutOfReach
from aftercare.recall.people import What
from aftercare.recall.port import OptOutRow

RESTORED = deed(What.RESTORED, by="Ann Admin")


def filled(register: SqlRegister) -> SqlRegister:
    with register.intake(deed()) as intake:
        intake.rows([row(number) for number in range(30)])
        intake.opt_outs([OptOutRow("P0000003", "recall", "sms")])
    register.plan([reminder(recall.id) for recall, _ in register.all_recalls()], deed(What.PLANNED))
    return register


def but_for_the_last(
    kept: dict[str, list[tuple[object, ...]]],
) -> dict[str, list[tuple[object, ...]]]:
    return kept | {"happened": kept["happened"][:-1]}


def test_a_backup_holds_everything_and_is_checked(register: SqlRegister, tmp_path: Path) -> None:
    filled(register)

    checked = backup(register, tmp_path / "copy")

    assert checked == verify(register)
    assert checked.rows["patients"] == checked.rows["reminders"] == 30
    assert (tmp_path / "copy").stat().st_mode & 0o777 == 0o600
    passphrase = register.place.passphrase
    copy = SqlRegister(Place(beside=tmp_path / "c", file=tmp_path / "copy", passphrase=passphrase))
    assert contents(copy) == contents(register)
    copy.close()


def test_a_backup_leaves_nothing_else_behind(file_register: SqlRegister, tmp_path: Path) -> None:
    (tmp_path / "copies").mkdir()

    backup(filled(file_register), tmp_path / "copies" / "copy")

    names = {one.name for one in (tmp_path / "copies").iterdir()}
    assert names == {"copy", "copy.anchor"}


def test_a_backup_overwrites_nothing(file_register: SqlRegister, tmp_path: Path) -> None:
    (tmp_path / "copy").write_text("mine")

    with pytest.raises(BadInput, match="there is a file already"):
        backup(file_register, tmp_path / "copy")

    assert (tmp_path / "copy").read_text() == "mine"


def test_a_copy_that_is_not_sound_is_not_kept(register: SqlRegister, tmp_path: Path) -> None:
    filled(register)
    with register.engine.begin() as connection:
        connection.execute(text("UPDATE happened SET by = 'Eve' WHERE seq = 1"))

    with pytest.raises(OutOfReach, match="not sound"):
        backup(register, tmp_path / "copy")

    assert not list(tmp_path.glob("*copy*"))


def test_an_encrypted_register_has_an_encrypted_backup(tmp_path: Path) -> None:
    place = file_place(tmp_path, "a made passphrase of some length")
    register = filled(make_register(place))
    backup(register, tmp_path / "copy")
    register.close()

    for file in (tmp_path / "copy", place.file):
        assert file is not None
        held = file.read_bytes()
        assert not held.startswith(b"SQLite format 3")
        assert b"Invented" not in held


def test_what_was_backed_up_comes_back(register: SqlRegister, tmp_path: Path) -> None:
    filled(register)
    backup(register, tmp_path / "copy")
    before = contents(register)
    take_in(register, row(99), row(3, first_name="Changed"))
    place = register.place

    restore(place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    restored = open_register(place)
    assert but_for_the_last(contents(restored)) == before
    assert verify(restored).sound
    assert take_in(restored, row(99), row(100)).new == 2  # numbers go on after the highest
    assert verify(restored).sound
    restored.close()


def test_what_was_there_before_is_kept_whole(register: SqlRegister, tmp_path: Path) -> None:
    filled(register)
    backup(register, tmp_path / "copy")
    take_in(register, row(99))
    before = contents(register)

    restore(register.place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    passphrase = register.place.passphrase
    kept = SqlRegister(Place(beside=tmp_path / "k", file=tmp_path / "kept", passphrase=passphrase))
    assert contents(kept) == before
    kept.close()


def test_the_chain_says_that_it_was_restored(register: SqlRegister, tmp_path: Path) -> None:
    filled(register)
    backup(register, tmp_path / "copy")
    take_in(register, row(99))

    restore(register.place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    with register.engine.connect() as connection:
        last = connection.execute(
            text("SELECT what, details FROM happened ORDER BY seq DESC LIMIT 1")
        ).one()
    assert tuple(last) == ("restored", '{"rows_before": "3", "rows_restored": "2"}')


def test_a_damaged_register_is_moved_aside_and_replaced(tmp_path: Path) -> None:
    place = file_place(tmp_path)
    register = filled(make_register(place))
    backup(register, tmp_path / "copy")
    before = contents(register)
    register.close()
    assert place.file is not None
    place.file.write_bytes(b"no database at all" * 1000)

    restore(place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    assert (tmp_path / "kept").read_bytes().startswith(b"no database at all")
    restored = open_register(place)
    assert but_for_the_last(contents(restored)) == before
    restored.close()


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        ("UPDATE happened SET by = 'Eve' WHERE seq = 2", "row 2: altered"),
        ("DELETE FROM happened WHERE seq = 2", "row 2: cut: 1 more"),
        ("PRAGMA foreign_keys = OFF; DELETE FROM patients", "belong to nobody"),
    ],
)
def test_a_backup_that_was_tampered_with_is_refused(
    file_register: SqlRegister, tmp_path: Path, harm: str, said: str
) -> None:
    import sqlite3

    filled(file_register)
    backup(file_register, tmp_path / "copy")
    before = contents(file_register)
    connection = sqlite3.connect(tmp_path / "copy")
    connection.executescript(harm)
    connection.commit()
    connection.close()

    with pytest.raises(OutOfReach, match=said):
        restore(file_register.place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    assert contents(file_register) == before
    assert not (tmp_path / "kept").exists()


@pytest.mark.parametrize("what", ["garbage", "empty", "missing", "half"])
def test_a_file_that_is_no_backup_is_refused(
    file_register: SqlRegister, tmp_path: Path, what: str
) -> None:
    filled(file_register)
    copy = tmp_path / "copy"
    backup(file_register, copy)
    if what == "missing":
        copy.unlink()
    else:
        whole = copy.read_bytes()
        copy.write_bytes(
            {"garbage": b"?" * 9000, "empty": b"", "half": whole[: len(whole) // 2]}[what]
        )
    before = contents(file_register)

    with pytest.raises(OutOfReach, match="copy"):
        restore(file_register.place, copy, tmp_path / "kept", RESTORED)

    assert contents(file_register) == before
    assert not list(tmp_path.glob(".*"))


def test_a_backup_of_an_older_edition_is_brought_up_to_date_and_left_as_it_was(
    tmp_path: Path,
) -> None:
    place = file_place(tmp_path)
    register = make_register(place)
    take_in(register, row(1))
    backup(register, tmp_path / "copy")
    copy = Place(beside=tmp_path / "c", file=tmp_path / "copy")
    old = SqlRegister(copy)
    bring_up_to(copy, old.engine, EDITIONS[0])
    old.close()
    before = (tmp_path / "copy").read_bytes()

    restore(place, tmp_path / "copy", tmp_path / "kept", RESTORED)

    assert (tmp_path / "copy").read_bytes() == before
    (found,) = register.recalls("P0000001")
    assert found.condition == CAVITY
    register.close()


def test_a_plain_backup_goes_into_an_encrypted_register(tmp_path: Path) -> None:
    """How a clinic that had none encrypts its register: back up, set the key, restore."""
    plain = file_place(tmp_path)
    register = filled(make_register(plain))
    backup(register, tmp_path / "copy")
    before = contents(register)
    register.close()
    assert plain.file is not None
    secret = Place(beside=plain.beside, file=tmp_path / "secret", passphrase="x" * 32)

    restore(secret, tmp_path / "copy", tmp_path / "kept", RESTORED)

    restored = open_register(secret)
    assert but_for_the_last(contents(restored)) == before
    restored.close()
    assert b"Invented" not in (tmp_path / "secret").read_bytes()


@pytest.mark.parametrize("moment", ["before the commit", "after the commit"])
def test_a_restore_that_dies_is_done_or_not_begun(
    register: SqlRegister, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    filled(register)
    backup(register, tmp_path / "copy")
    backed_up = contents(register)
    take_in(register, row(99))
    before = contents(register)

    def die(*_: object) -> None:
        raise KeyboardInterrupt

    step = "offer" if moment == "before the commit" else "advance"
    real = anchor.offer

    def offer(*given: object) -> None:
        real(*given)  # type: ignore[arg-type]
        raise KeyboardInterrupt

    monkeypatch.setattr(copies.anchor, step, offer if step == "offer" else die)
    with pytest.raises(KeyboardInterrupt):
        restore(register.place, tmp_path / "copy", tmp_path / "kept", RESTORED)
    monkeypatch.undo()

    there = contents(register)
    if moment == "before the commit":
        assert there == before
    else:
        assert but_for_the_last(there) == backed_up
    assert verify(register).sound
    take_in(register, row(100))
    assert verify(register).sound
    assert anchor.read_anchors(register.place) == (verify(register).tail,)
