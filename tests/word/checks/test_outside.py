"""The same seeded faults given to others: GNU gettext's `msgfmt -c` and Babel's checkers.

Neither is made to see most of them: that is why these checks exist.
"""

from __future__ import annotations

import shutil
import subprocess
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po
from word.checks.seed import Seeded, pairs, parts, seeded

from aftercare.word.checks import Pair, check_pair


@cache
def faults() -> tuple[Seeded, ...]:
    """One fault of each kind for every new pair: what is tried on all three judges.

    Characters that no PO file can hold are left out.
    """
    kept = {
        (one.fault, one.pair.id): one
        for one in seeded((*pairs("held"), *pairs("last")))
        if one.pair.target.isprintable()
    }
    return tuple(kept.values())


def catalogue(language: str, listed: Sequence[Pair]) -> Catalog:
    made = Catalog(locale=language, fuzzy=False, charset="utf-8", project="x", version="1")
    for pair in listed:
        # The flag asks both judges for all they know of slots in braces.
        made.add(pair.source, pair.target, flags=["python-brace-format"], context=pair.id)
    return made


def seen_by_babel(one: Seeded) -> bool:
    made = catalogue(one.pair.language, [one.pair])
    return any(list(message.check(made)) for message in made if message.id)


def seen_by_msgfmt(one: Seeded, folder: Path) -> bool:
    path, text = folder / "one.po", BytesIO()
    write_po(text, catalogue(one.pair.language, [one.pair]), width=0)
    path.write_bytes(text.getvalue())
    run = ["msgfmt", "-c", "-o", "/dev/null", str(path)]
    return subprocess.run(run, capture_output=True).returncode != 0


def seen_by_us(one: Seeded) -> bool:
    found = check_pair(one.pair, parts=parts, glossaries={})
    return any(finding.kind in one.expected for finding in found)


def test_the_judges_see_what_they_are_made_for(tmp_path: Path) -> None:
    pair = Pair(id="1", source="Hello %(name)s.", target="Witaj %(imie)s.", language="pl")
    made = Catalog(locale="pl")
    made.add(pair.source, pair.target, flags=["python-format"])

    assert [one for message in made if message.id for one in message.check(made)]
    if shutil.which("msgfmt"):
        braces = replace(pair, source="Hello {name}.", target="Witaj {imie}.")
        assert seen_by_msgfmt(Seeded("slot renamed", frozenset({"slots"}), braces), tmp_path)


def test_babel_sees_hardly_any_of_the_faults_found_here() -> None:
    theirs = Counter(one.fault for one in faults() if seen_by_babel(one))
    ours = Counter(one.fault for one in faults() if seen_by_us(one))

    print(f"\nBabel {theirs.total()}, ours {ours.total()}, of {len(faults())}: {dict(theirs)}")
    assert ours.total() >= 0.95 * len(faults())
    assert theirs.total() <= 0.05 * len(faults())


def test_msgfmt_sees_lost_and_renamed_slots_at_most_and_so_do_we(tmp_path: Path) -> None:
    if shutil.which("msgfmt") is None:
        pytest.skip("GNU gettext is not installed")
    # A process each is slow: one language of each script, every kind of fault.
    tried = [one for one in faults() if one.pair.language in ("pl", "ur")]
    theirs = [one for one in tried if seen_by_msgfmt(one, tmp_path)]
    by_kind = Counter(one.fault for one in theirs)

    print(
        f"\nmsgfmt -c {len(theirs)}, ours {sum(map(seen_by_us, tried))}, of {len(tried)}: {by_kind}"
    )
    assert all(map(seen_by_us, theirs))
    assert len(theirs) < 0.25 * len(tried)


def test_both_judges_accept_what_is_good(tmp_path: Path) -> None:
    for pair in pairs("held")[::13]:
        good = Seeded("none", frozenset(), replace(pair))
        assert not seen_by_babel(good)
        if shutil.which("msgfmt"):
            assert not seen_by_msgfmt(good, tmp_path)
