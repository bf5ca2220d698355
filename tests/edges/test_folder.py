"""Folders are read whole or refused, and written whole or not at all."""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from aftercare import library
from aftercare.edges import folder
from aftercare.edges.folder import (
    copy_shelf,
    find_home,
    is_home,
    read_home,
    read_input,
    rewrite,
    shipped,
    sweep,
    write_folder,
)
from aftercare.errors import BadInput, OutOfReach

OLD = {"a.txt": b"old a", "b.txt": b"old b"}
NEW = {"a.txt": b"new a", "c.txt": b"new c"}
OURS = frozenset({*OLD, *NEW})
CARE = """\
---
id: care-wax
version: "1"
kind: care
for: [condition:wax]
rank: 10
sources: ["common practice, no source"]
author: "A. Writer"
approval: {state: draft}
review_by: 2027-11-01
---
Rest.
"""
FRAME = 'version = "1"\napproval = { state = "draft" }\nreview_by = 2027-11-01\ntexts = {}\n'


def write(target: Path, contents: dict[str, bytes]) -> None:
    write_folder(target, contents, ours=OURS)


def contents(target: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in target.iterdir()}


def make_home(home: Path) -> Path:
    for name, text in {
        "content/wax/care.md": CARE,
        "content/frame.toml": FRAME,
        "shared/clinic.toml": "clinic",
        "locales/pl/LC_MESSAGES/aftercare.po": "po",
    }.items():
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_text(text, encoding="utf-8")
    return home


# --- Reading a home ---------------------------------------------------------------------


def test_a_home_is_read_by_paths_with_slashes_and_nothing_hidden(tmp_path: Path) -> None:
    home = make_home(tmp_path)
    for name in (".git/config", "content/.draft.md", "content/~care.md", "content/care.md~"):
        (home / name).parent.mkdir(exist_ok=True)
        (home / name).write_text("x", encoding="utf-8")
    (home / "out").mkdir()
    (home / "out" / "leaflet.pdf").write_bytes(b"pdf")

    assert read_home(home) == {
        "content/frame.toml": FRAME.encode(),
        "content/wax/care.md": CARE.encode(),
        "locales/pl/LC_MESSAGES/aftercare.po": b"po",
        "shared/clinic.toml": b"clinic",
    }


def test_a_linked_file_is_read_and_a_linked_folder_is_not_passed_over(tmp_path: Path) -> None:
    home = make_home(tmp_path / "home")
    (home / "content" / "linked.md").symlink_to(home / "content" / "wax" / "care.md")
    assert read_home(home)["content/linked.md"] == CARE.encode()

    (home / "content" / "grommet").symlink_to(tmp_path)
    with pytest.raises(OutOfReach, match="grommet: a link to a folder"):
        read_home(home)


def test_the_words_last_approved_are_read_and_no_other_hidden_folder(tmp_path: Path) -> None:
    home = make_home(tmp_path)
    usual = read_home(home)
    for name in ("content/.approved", "content/wax/.approved", "shared/.approved", "content/.b"):
        (home / name).mkdir()
        (home / name / "care-wax.md").write_bytes(b"as approved")
    (home / "content" / ".approved" / ".care-wax.md.aftercare-new").write_bytes(b"half")

    assert read_home(home) == {**usual, "content/.approved/care-wax.md": b"as approved"}


def test_kept_words_behind_a_link_are_refused_like_any_others(tmp_path: Path) -> None:
    home = make_home(tmp_path / "home")
    (home / "content" / ".approved").symlink_to(tmp_path)

    with pytest.raises(OutOfReach, match=r"\.approved: a link to a folder"):
        read_home(home)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.symlink_to(path),
        lambda path: path.symlink_to("nowhere.md"),
        os.mkfifo,
        lambda path: path.symlink_to("/dev/zero"),
        lambda path: path.symlink_to("/dev/tty"),
    ],
    ids=["loop", "broken link", "pipe", "endless device", "terminal"],
)
def test_what_is_no_file_is_refused_and_never_waited_for(
    spoil: Callable[[Path], None], tmp_path: Path
) -> None:
    home = make_home(tmp_path)
    spoil(home / "content" / "block.md")

    with pytest.raises(OutOfReach, match=r"block\.md: not a file that can be read"):
        read_home(home)


def test_a_folder_linked_into_itself_ends(tmp_path: Path) -> None:
    home = make_home(tmp_path)
    (home / "content" / "again").symlink_to(home / "content")

    with pytest.raises(OutOfReach, match="again: a link to a folder"):
        read_home(home)


def test_a_huge_file_is_refused_without_being_read(tmp_path: Path) -> None:
    home = make_home(tmp_path)
    with (home / "content" / "film.md").open("wb") as stream:
        stream.truncate(1 << 42)  # four terabytes, none of it on the disk

    begun = time.perf_counter()
    with pytest.raises(OutOfReach, match="too large for a shelf"):
        read_home(home)
    assert time.perf_counter() - begun < 5  # seconds


def test_a_folder_of_very_many_files_is_no_shelf(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folder, "MOST_FILES", 3)

    with pytest.raises(OutOfReach, match="too large for a shelf"):
        read_home(make_home(tmp_path))


def test_an_unreadable_folder_is_not_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = make_home(tmp_path)
    scandir = os.scandir

    def refusing(path: Path) -> object:
        if Path(path).name == "wax":
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return scandir(path)

    monkeypatch.setattr(os, "scandir", refusing)

    with pytest.raises(OutOfReach, match="wax: Permission denied; check its rights"):
        read_home(home)


def test_an_unreadable_file_is_not_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home, opened = make_home(tmp_path), Path.open

    def refusing(path: Path, mode: str) -> object:
        if path.name == "care.md":
            raise PermissionError(errno.EACCES, "Permission denied")
        return opened(path, mode)

    monkeypatch.setattr(Path, "open", refusing)

    with pytest.raises(OutOfReach, match=r"care\.md: Permission denied; check its rights"):
        read_home(home)


def test_a_name_that_is_not_utf8_is_refused(tmp_path: Path) -> None:
    home = make_home(tmp_path)
    (home / "content" / os.fsdecode(b"\xff.md")).write_text("x", encoding="utf-8")

    with pytest.raises(OutOfReach, match="its name is not UTF-8"):
        read_home(home)


def test_the_order_on_the_disk_changes_nothing(tmp_path: Path) -> None:
    names = [f"{letter}{number}.md" for letter in "xa" for number in range(20)]
    homes = [make_home(tmp_path / "one"), make_home(tmp_path / "other")]
    for home, seed in zip(homes, (1, 2), strict=True):
        for name in random.Random(seed).sample(names, len(names)):  # noqa: S311 - not a secret
            (home / "content" / name).write_text(name, encoding="utf-8")

    one, other = map(read_home, homes)

    assert list(one.items()) == list(other.items())
    assert library.fingerprint(one) == library.fingerprint(other)


# --- Finding a home ---------------------------------------------------------------------


def test_a_home_is_named_or_in_the_environment_or_here_or_shipped(tmp_path: Path) -> None:
    named, set_, here = (make_home(tmp_path / name) for name in ("named", "set", "here"))
    environment = {"AFTERCARE_HOME": str(set_)}

    assert find_home(str(named), environment, here) == named
    assert find_home(None, environment, here) == set_
    assert find_home(None, {}, here) == here
    assert find_home(None, {"AFTERCARE_HOME": ""}, tmp_path) == shipped()
    assert find_home(None, {}, None) == shipped()
    assert is_home(shipped())


@pytest.mark.parametrize("name", ["nothing-here", "n" * 5_000, "a\0b", "/dev/null"])
def test_a_named_folder_that_is_no_home_is_refused_not_replaced(name: str, tmp_path: Path) -> None:
    for named, environment in ((name, {}), (None, {"AFTERCARE_HOME": name})):
        with pytest.raises(BadInput, match="no content/ and shared/clinic"):
            find_home(named, environment, make_home(tmp_path))


def test_a_home_that_may_not_be_looked_at_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = make_home(tmp_path)

    def refused(path: Path) -> bool:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "is_dir", refused)

    assert not is_home(home)


# --- Reading one file -------------------------------------------------------------------


def test_an_input_is_read_one_byte_past_its_limit(tmp_path: Path) -> None:
    (tmp_path / "v").write_bytes(b"x" * 100)

    assert len(read_input(tmp_path / "v", 200)) == 100
    assert len(read_input(tmp_path / "v", 10)) == 11
    assert len(read_input(Path("/dev/zero"), 10)) == 11


@pytest.mark.parametrize("name", [".", "missing.toml", "n" * 5_000, "a\0b", "file/below"])
def test_an_input_that_cannot_be_opened_is_bad_input(name: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")

    with pytest.raises(BadInput):
        read_input(tmp_path / name, 10)


# --- Writing ----------------------------------------------------------------------------


def test_a_folder_is_written_for_its_owner_alone(tmp_path: Path) -> None:
    target = tmp_path / "deep" / "out" / "v-1"

    write(target, NEW)

    assert contents(target) == NEW
    assert target.stat().st_mode & 0o777 == 0o700
    assert {path.stat().st_mode & 0o777 for path in target.iterdir()} == {0o600}
    assert [path.name for path in target.parent.iterdir()] == ["v-1"]


@pytest.mark.parametrize("swap", ["exchange", "two steps"])
def test_an_older_folder_is_replaced_whole(
    swap: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if swap == "two steps":
        monkeypatch.setattr(folder, "_exchanged", lambda one, other: False)
    write(tmp_path / "v-1", OLD)

    write(tmp_path / "v-1", NEW)

    assert contents(tmp_path / "v-1") == NEW
    assert [path.name for path in tmp_path.iterdir()] == ["v-1"]


def test_a_folder_with_anything_else_in_it_is_never_replaced(tmp_path: Path) -> None:
    home = make_home(tmp_path)
    before = read_home(home)

    # The case "content", written to the clinic's own folder.
    with pytest.raises(OutOfReach, match="files of somebody else"):
        write(home / "content", NEW)

    assert read_home(home) == before
    assert sorted(path.name for path in home.iterdir()) == ["content", "locales", "shared"]


@pytest.mark.parametrize("kind", ["file", "link", "broken link", "pipe"])
def test_nothing_but_a_folder_is_replaced(kind: str, tmp_path: Path) -> None:
    target, elsewhere = tmp_path / "v-1", tmp_path / "elsewhere"
    write(elsewhere, OLD)
    if kind == "file":
        target.write_bytes(b"mine")
    elif kind == "pipe":
        os.mkfifo(target)
    else:
        target.symlink_to(elsewhere if kind == "link" else tmp_path / "nowhere")

    with pytest.raises(OutOfReach, match="in the way; nothing was written there"):
        write(target, NEW)

    assert contents(elsewhere) == OLD
    assert sorted(path.name for path in tmp_path.iterdir()) == ["elsewhere", "v-1"]


@pytest.mark.parametrize("parent", ["file", "file/below", "/proc/1", "n" * 300])
def test_a_place_that_cannot_hold_folders_is_told(parent: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")

    with pytest.raises(OutOfReach, match="nothing was written there"):
        write(tmp_path / parent / "v-1", NEW)


def failing_after(times: int, call: Callable[..., object]) -> Callable[..., object]:
    """The call, with every use after so many refused as on a full disk."""
    used = 0

    def called(*given: object, **named: object) -> object:
        nonlocal used
        used += 1
        if used > times:
            raise OSError(errno.ENOSPC, "No space left on device")
        return call(*given, **named)

    return called


def refusal(target: Path) -> str | None:
    try:
        write(target, NEW)
    except OutOfReach as refused:
        return str(refused)
    return None


@pytest.mark.parametrize("swap", ["exchange", "two steps"])
@pytest.mark.parametrize("times", range(4))
@pytest.mark.parametrize(
    ("module", "name"),
    [(os, "fsync"), (Path, "rename"), (Path, "mkdir"), (tempfile, "mkdtemp")],
    ids=["fsync", "rename", "mkdir", "mkdtemp"],
)
def test_a_disk_that_fails_at_any_step_leaves_the_old_folder_or_the_new(
    module: object,
    name: str,
    times: int,
    swap: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    target = tmp_path / "v-1"
    write(target, OLD)
    if swap == "two steps":
        monkeypatch.setattr(folder, "_exchanged", lambda one, other: False)

    with monkeypatch.context() as disk:
        disk.setattr(module, name, failing_after(times, getattr(module, name)))
        refused = refusal(target)
    assert refused is None or "No space left on device" in refused
    expected = NEW if refused is None else OLD

    left = [path for path in tmp_path.iterdir() if path != target]
    if target.exists():
        assert contents(target) == expected
        assert left == []
    else:
        # Two renames were needed and the disk took neither the new name nor the old one back.
        assert (swap, name, times) == ("two steps", "rename", 1)
        assert [contents(path / "v-1") for path in left] == [OLD]


def test_a_new_folder_that_cannot_take_its_place_gives_it_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target, renamed = tmp_path / "v-1", Path.rename
    write(target, OLD)
    monkeypatch.setattr(folder, "_exchanged", lambda one, other: False)

    def refusing_the_new(path: Path, to: Path) -> Path:
        if path.name.startswith(".aftercare-new-"):
            raise PermissionError(errno.EACCES, "Permission denied")
        return renamed(path, to)

    with monkeypatch.context() as disk:
        disk.setattr(Path, "rename", refusing_the_new)
        with pytest.raises(OutOfReach, match="Permission denied; nothing was written there"):
            write(target, NEW)

    assert contents(target) == OLD
    assert [path.name for path in tmp_path.iterdir()] == ["v-1"]


def test_a_full_disk_while_writing_leaves_the_old_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "v-1"
    write(target, OLD)

    def full(descriptor: int, mode: str) -> Full:
        os.close(descriptor)
        return Full()

    class Full:
        def write(self, data: bytes) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

        def __enter__(self) -> Full:
            return self

        def __exit__(self, *what: object) -> None:
            pass

    with monkeypatch.context() as disk:
        disk.setattr(os, "fdopen", full)
        with pytest.raises(OutOfReach, match="No space left on device; nothing was written"):
            write(target, NEW)

    assert contents(target) == OLD
    assert [path.name for path in tmp_path.iterdir()] == ["v-1"]


def test_an_interrupted_run_leaves_the_old_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "v-1"
    write(target, OLD)

    def interrupted(descriptor: int) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as keys:
        keys.setattr(os, "fsync", interrupted)
        with pytest.raises(KeyboardInterrupt):
            write(target, NEW)

    assert contents(target) == OLD
    assert [path.name for path in tmp_path.iterdir()] == ["v-1"]


WRITER = """
import sys
from pathlib import Path
from aftercare.edges.folder import write_folder
target, number = Path(sys.argv[1]), 0
print("ready", flush=True)
while True:
    number += 1
    data = b"%d" % number
    files = {name: data * 1000 for name in ("a.txt", "b.txt", "c.txt")}
    write_folder(target, files, ours=files)
"""


def test_a_killed_run_leaves_one_whole_folder(root: Path, tmp_path: Path) -> None:
    target = tmp_path / "v-1"
    pause = random.Random(7)  # noqa: S311 - not a secret
    for _ in range(8):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(target)],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(root)},
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"ready\n"
            time.sleep(0.005 + pause.random() / 25)
            writer.send_signal(signal.SIGKILL)
        if target.exists():
            found = contents(target)
            assert sorted(found) == ["a.txt", "b.txt", "c.txt"]
            assert len(set(found.values())) == 1

    assert target.exists()


# --- What killed runs leave -------------------------------------------------------------


def aged(path: Path, hours: float) -> Path:
    then = time.time() - hours * 3600
    os.utime(path, (then, then))
    return path


def test_leftovers_of_killed_runs_are_swept_after_an_hour(tmp_path: Path) -> None:
    write(tmp_path / ".aftercare-new-dead", OLD)
    write(tmp_path / ".aftercare-new-live", OLD)
    write(tmp_path / "v-1", NEW)
    aged(tmp_path / ".aftercare-new-dead", 2)
    aged(tmp_path / "v-1", 2)

    sweep(tmp_path)

    assert sorted(path.name for path in tmp_path.iterdir()) == [".aftercare-new-live", "v-1"]
    assert contents(tmp_path / "v-1") == NEW


def test_a_folder_a_killed_run_moved_away_goes_back_to_an_empty_place(tmp_path: Path) -> None:
    write(tmp_path / ".aftercare-was-1" / "v-1", OLD)
    write(tmp_path / ".aftercare-was-2" / "v-2", OLD)
    write(tmp_path / "v-2", NEW)
    for name in (".aftercare-was-1", ".aftercare-was-2"):
        aged(tmp_path / name, 2)

    sweep(tmp_path)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["v-1", "v-2"]
    assert (contents(tmp_path / "v-1"), contents(tmp_path / "v-2")) == (OLD, NEW)


def test_sweeping_where_nothing_is_does_nothing(tmp_path: Path) -> None:
    sweep(tmp_path / "nowhere")

    assert list(tmp_path.iterdir()) == []


# --- A clinic's own folder --------------------------------------------------------------


def test_a_clinic_s_own_folder_is_the_shelf_and_a_place_for_output(tmp_path: Path) -> None:
    copy_shelf(shipped(), tmp_path / "mine")

    assert read_home(tmp_path / "mine") == read_home(shipped())
    assert sorted(path.name for path in (tmp_path / "mine").iterdir()) == [
        "content",
        "locales",
        "out",
        "shared",
    ]
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


def test_nobody_else_s_approvals_are_copied(tmp_path: Path) -> None:
    source = make_home(tmp_path / "source")
    approved = '{state: approved, approver: "Dr A. Example", date: 2026-11-20}'
    care = source / "content" / "wax" / "care.md"
    care.write_text(CARE.replace("{state: draft}", approved), encoding="utf-8")
    (source / "content" / ".approved").mkdir()
    (source / "content" / ".approved" / "care-wax.md").write_bytes(care.read_bytes())
    (source / "locales" / "pl" / "approvals.toml").write_bytes(b"")

    copy_shelf(source, tmp_path / "mine")

    assert read_home(tmp_path / "mine") == read_home(make_home(tmp_path / "other"))


def test_an_empty_folder_may_become_a_clinic_s(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()

    copy_shelf(make_home(tmp_path / "source"), tmp_path / "mine")

    assert is_home(tmp_path / "mine")


@pytest.mark.parametrize("kind", ["file", "full folder", "here"])
def test_a_folder_in_use_does_not_become_a_clinic_s(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "mine"
    if kind == "file":
        target.write_text("x", encoding="utf-8")
    else:
        target.mkdir()
    if kind == "full folder":
        (target / "x").write_text("x", encoding="utf-8")
    if kind == "here":
        monkeypatch.chdir(target)
        target = Path()

    with pytest.raises(BadInput, match="name a new folder"):
        copy_shelf(make_home(tmp_path / "source"), target)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["mine", "source"]


@pytest.mark.parametrize(
    ("module", "name"), [(Path, "write_bytes"), (Path, "rename"), (Path, "exists")]
)
def test_a_shelf_that_cannot_be_copied_whole_is_not_copied(
    module: object, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = make_home(tmp_path / "source")

    with monkeypatch.context() as disk:
        disk.setattr(module, name, failing_after(0, getattr(module, name)))
        with pytest.raises(OutOfReach, match="No space left on device"):
            copy_shelf(source, tmp_path / "mine")

    assert [path.name for path in tmp_path.iterdir()] == ["source"]


# --- Files written anew -----------------------------------------------------------------


def test_files_are_written_anew_all_together(tmp_path: Path) -> None:
    block, kept = tmp_path / "care.md", tmp_path / ".approved" / "care.md"
    block.write_bytes(b"old")
    block.chmod(0o640)

    rewrite({kept: b"new", block: b"new"})
    rewrite({kept: b"newer", block: b"newer"})

    assert (block.read_bytes(), kept.read_bytes()) == (b"newer", b"newer")
    assert block.stat().st_mode & 0o777 == 0o640
    assert sorted(tmp_path.rglob("*")) == [kept.parent, kept, block]


@pytest.mark.parametrize("first", [True, False], ids=["first time", "again"])
@pytest.mark.parametrize("times", range(6))
@pytest.mark.parametrize("name", ["mkdir", "open", "replace", "fsync"])
def test_a_disk_that_fails_at_any_step_leaves_every_file_as_it_was(
    name: str, times: int, first: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    block, kept = tmp_path / "care.md", tmp_path / ".approved" / "care.md"
    block.write_bytes(b"old")
    if not first:
        rewrite({kept: b"older", block: b"old"})
    before = files_under(tmp_path)
    module: object = os if name == "fsync" else Path
    told = None

    with monkeypatch.context() as disk:
        disk.setattr(module, name, failing_once_after(times, getattr(module, name)))
        try:
            rewrite({kept: b"new", block: b"new"})
        except OutOfReach as refused:
            told = str(refused)

    if told is None:
        assert files_under(tmp_path) == {kept: b"new", block: b"new"}
    else:
        assert told == f"{block}: No space left on device; it stands as it was"
        assert files_under(tmp_path) == before
        assert kept.parent.exists() is not first


def files_under(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def failing_once_after(times: int, call: Callable[..., object]) -> Callable[..., object]:
    """The call as it is, but for the one that follows so many good ones."""
    made = 0

    def called(*args: object, **named: object) -> object:
        nonlocal made
        made += 1
        if made == times + 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return call(*args, **named)

    return called


def test_a_link_laid_where_a_file_is_made_ready_is_not_followed(tmp_path: Path) -> None:
    block, victim = tmp_path / "care.md", tmp_path / "victim"
    victim.write_bytes(b"mine")
    (tmp_path / ".care.md.aftercare-new").symlink_to(victim)

    rewrite({block: b"new"})

    assert (block.read_bytes(), victim.read_bytes()) == (b"new", b"mine")


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal there")
def test_a_run_killed_between_two_moves_leaves_the_file_that_counts(
    root: Path, tmp_path: Path
) -> None:
    block, kept = tmp_path / "care.md", tmp_path / ".approved" / "care.md"
    rewrite({kept: b"older", block: b"old"})
    program = (
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from aftercare.edges import folder\n"
        "move, times = Path.replace, []\n"
        "def replace(self, target):\n"
        "    times.append(1)\n"
        "    if len(times) == 2: os.kill(os.getpid(), signal.SIGKILL)\n"
        "    return move(self, target)\n"
        "Path.replace = replace\n"
        "kept, block = map(Path, sys.argv[1:])\n"
        "folder.rewrite({kept: b'new', block: b'new'})\n"
    )
    killed = subprocess.run(
        [sys.executable, "-c", program, str(kept), str(block)],
        env={**os.environ, "PYTHONPATH": str(root)},
        check=False,
    )

    assert killed.returncode == -signal.SIGKILL
    assert (block.read_bytes(), kept.read_bytes()) == (b"old", b"new")
    rewrite({kept: b"newer", block: b"newer"})
    assert set(files_under(tmp_path)) == {kept, block}
