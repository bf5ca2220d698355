"""What the ``register`` commands do: one call each, and what is shown of it."""

from __future__ import annotations

from contextlib import closing
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.bootstrap import moment, open_register, read_retention, register_place
from aftercare.cli.recall.deciding import who
from aftercare.recall.people import Deed, What

if TYPE_CHECKING:
    from aftercare.edges.register.copies import Checked


def back_up(home: str | None, file: Path, *, as_json: bool) -> int:
    """Copy the register, and say what is in the copy."""
    from aftercare.edges.register.copies import backup

    with closing(open_register(home)) as register:
        _show(backup(register, file), f"{file}: copied", as_json=as_json)
    return DONE


def bring_back(home: str | None, file: Path, by: str, *, as_json: bool) -> int:
    """Restore a copy, and say what came back and where the register before is kept."""
    from aftercare.edges.register.copies import restore

    place, deed = register_place(home), _deed(What.RESTORED, by)
    stamp = f"{deed.at:%Y%m%dT%H%M%SZ}"
    kept = place.beside.with_name(f"{place.beside.name}.before-{stamp}")
    restored = restore(place, file, kept, deed)
    title = f"{file}: restored; the register before is kept as {kept}"
    _show(restored.checked, title, as_json=as_json)
    if restored.again:
        people = "person who was" if restored.again == 1 else "people who were"
        tell(f"{restored.again:,} {people} forgotten since the copy was made: forgotten again")
    if restored.unsure:
        tell(
            f"{restored.unsure:,} forgotten in the register before, and {file} is no copy of its "
            "past: look through who is in it, and forget again whoever has to be"
        )
    return FOUND if restored.unsure else DONE


def check(home: str | None, *, as_json: bool) -> int:
    """Check the register, and say what is wrong with it."""
    from aftercare.edges.register.copies import verify

    with closing(open_register(home)) as register:
        checked = verify(register)
        _show(checked, f"{register.place.name}: checked", as_json=as_json)
    return DONE if checked.sound else FOUND


def forget_one(home: str | None, ref: str, by: str) -> int:
    """Forget one person."""
    from aftercare.edges.register.forgetting import forget

    with closing(open_register(home)) as register:
        forget(register, ref, _deed(What.FORGOTTEN, by))
    print(
        "Forgotten. Copies of the register made before still hold the person: destroy them when "
        "their time is over. An import of a list that names the person would bring them back."
    )
    return DONE


def count_over(home: str | None, *, as_json: bool) -> int:
    """Say how many have been kept for long enough."""
    from aftercare.edges.register.forgetting import count_ended

    years, before = _kept_from(home)
    with closing(open_register(home)) as register:
        _show_ended(years, before, count_ended(register, before), "would be", as_json=as_json)
    return DONE


def forget_over(home: str | None, by: str, *, as_json: bool) -> int:
    """Forget those who have been kept for long enough."""
    from aftercare.edges.register.forgetting import forget_ended

    years, before = _kept_from(home)
    with closing(open_register(home)) as register:
        count = forget_ended(register, before, _deed(What.FORGOTTEN, by))
        _show_ended(years, before, count, "were", as_json=as_json)
    return DONE


def _deed(what: What, by: str) -> Deed:
    return Deed(what=what, by=who(by), at=moment())


def _kept_from(home: str | None) -> tuple[int, date]:
    from aftercare.library.retention import kept_from

    years = read_retention(home)
    return years, kept_from(moment().date(), years)


def _show_ended(years: int, before: date, count: int, word: str, *, as_json: bool) -> None:
    if as_json:
        say_json({"years": years, "before": before.isoformat(), "people": count})
    else:
        print(f"{count} people whose last day was before {before} ({years} years) {word} forgotten")


def _show(checked: Checked, title: str, *, as_json: bool) -> None:
    if as_json:
        say_json(
            {
                "sound": checked.sound,
                "rows": dict(checked.rows),
                "chain": {"rows": checked.tail.count, "last": checked.tail.mac},
                "broken": [{"row": one.seq, "because": one.because} for one in checked.broken],
                "damage": list(checked.damage),
            }
        )
        return
    print(title)
    print("  " + ", ".join(f"{count} {name}" for name, count in checked.rows.items()))
    print(f"  what happened: {checked.tail.count} rows, the last is {checked.tail.mac or '-'}")
    for one in checked.broken:
        print(f"  ! what happened, row {one.seq}: {one.because}")
    for found in checked.damage:
        print(f"  ! {found}")
