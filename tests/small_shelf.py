"""A shelf of three blocks with its catalogues, for the translator's commands."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from made_up import HOME

from aftercare.library.po import read_po, write_po

BLOCK = """\
---
id: {name}
version: "1"
kind: {kind}
for: [{given}]
rank: 10
{short}sources:
  - "made up for tests"
author: "tests"
approval: {{state: draft}}
review_by: 2027-11-01
---
{body}
"""
URGENT = "Call {emergency_number} now if your face droops."
DRY, SWIM, SHORT = "Keep the ear dry for 2 weeks.", "Do not swim.", "No swimming for 2 weeks."
BLOCKS = {
    "urgent/now": BLOCK.format(name="urgent-now", kind="urgent", given="", short="", body=URGENT),
    "water/dry": BLOCK.format(
        name="water-dry", kind="water", given="condition:wax", short="", body=f"- {DRY}\n- {SWIM}"
    ),
    "water/text": BLOCK.format(
        name="water-text", kind="water", given="condition:grommet",
        short=f'sms: "{SHORT}"\n', body="Ask us about swimming.",
    ),
}  # fmt: skip
# Good translations by the checks; every other sentence of the shelf is left without one.
POLISH = {
    URGENT: "Proszę od razu dzwonić: {emergency_number}, jeśli opada twarz.",
    DRY: "Ucho ma być suche przez 2 tygodnie.",
    SWIM: "Proszę nie pływać.",
    SHORT: "Proszę nie pływać przez 2 tygodnie.",
}


def write_shelf(home: Path) -> Path:
    """A clinic's folder with these blocks, the shipped settings and no catalogue."""
    for part in ("content", "shared"):
        (home / part).mkdir(parents=True)
    for name in (
        "clinic", "facts", "glossary", "limits", "plain-words", "regions", "rules",
    ):  # fmt: skip
        (home / f"shared/{name}.toml").write_bytes((HOME / f"shared/{name}.toml").read_bytes())
    (home / "content/frame.toml").write_bytes((HOME / "content/frame.toml").read_bytes())
    for name, text in BLOCKS.items():
        write_block(home, name, text)
    return home


def write_block(home: Path, name: str, text: str) -> None:
    """One block's file."""
    path = home / "content" / f"{name}.md"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, "utf-8")


def catalogue(home: Path, language: str = "pl") -> Path:
    """Where a language's catalogue is."""
    return home / "locales" / language / "LC_MESSAGES" / "aftercare.po"


def write_texts(path: Path, texts: Mapping[str, str]) -> None:
    """Put translations into a catalogue that has their sources; they are no longer in doubt."""
    from dataclasses import replace

    po = read_po(str(path), path.read_bytes())
    assert po.header is not None
    listed = [
        replace(e, msgstrs=(texts[e.msgid],), flags=(), previous=()) if e.msgid in texts else e
        for e in po.entries
    ]
    path.write_bytes(write_po(po.header, listed))


def texts_of(path: Path) -> dict[str, str]:
    """What a catalogue has translations for and may use."""
    po = read_po(str(path), path.read_bytes())
    assert po.faults == ()
    return {entry.msgid: entry.msgstr for entry in po.entries if entry.usable}
