"""``aftercare locales export, import, approve``: to a translator, back, and under a name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.catalogues import Bench, catalogue_path, chosen, open_bench, put, stand
from aftercare.cli.lines import steady
from aftercare.cli.sheets import FOR_READING, csv_sheet, html_sheet, rows, said_to_translators
from aftercare.cli.shelf import tell_faults
from aftercare.cli.vetting import fault_row, show_fault, stops
from aftercare.edges.folder import read_input, write_folder
from aftercare.edges.table import read_table
from aftercare.errors import AftercareError, BadContent, BadInput
from aftercare.library.approval import Signature
from aftercare.library.catalogues import (
    approved_words,
    forms_of,
    parse_catalogue,
    parse_translation,
)
from aftercare.library.plurals import Forms
from aftercare.library.po import CATALOGUE_BYTES, Entry, Key, Po, read_po, source_of
from aftercare.library.returned import Came, Fate, Returned, take_back, to_send
from aftercare.library.signing import approvals_path, signed
from aftercare.library.tabled import COLUMNS, from_table
from aftercare.proof.reach import Reach
from aftercare.proof.translated import Fault, Sentence, Standing, State, refusal
from aftercare.proof.withheld import Audience

# --- export -------------------------------------------------------------------------------


def export(home: str | None, named: str, out: Path) -> int:
    """Write a folder for a translator: the catalogue, and a sheet to read as a page and a table."""
    bench = open_bench(home)
    (language,) = chosen(bench, [named])
    po = bench.po(language)
    if po.faults or po.header is None:
        raise _unusable(po.place, po.faults)
    one, audience = stand(bench, language), Audience(Reach(bench.library))
    listed = rows(bench, one, audience)
    names = [f"aftercare-{language}.{kind}" for kind in ("po", "html", "csv")]
    contents = (
        to_send(po, po.header, said_to_translators(listed)),
        html_sheet(bench, language, listed),
        csv_sheet(language, listed),
    )
    write_folder(out, dict(zip(names, contents, strict=True)), ours=names)
    tell_faults(bench.faults)
    tell(f"{out}: {', '.join(names)}; send them whole, and import the .po or .csv that comes back")
    return FOUND if bench.faults else DONE


def _unusable(place: str, faults: Sequence[AftercareError]) -> BadContent:
    listed = "".join(f"\n  {fault}" for fault in faults) or " no header"
    return BadContent(place, f"cannot be read whole:{listed}", "mend it first")


_TABLES = frozenset({".csv", ".tsv"})
_FOR_EYES = {".html": "page", ".htm": "page", ".xlsx": "workbook", ".ods": "workbook"}

# --- import -------------------------------------------------------------------------------


def take_in(home: str | None, named: str, file: Path, *, as_json: bool) -> int:
    """Take into a catalogue what a translator has changed and nobody here has.

    1 when a sentence is in conflict, in doubt, or has something found in it that stops it.
    """
    bench = open_bench(home)
    (language,) = chosen(bench, [named])
    ours = bench.po(language)
    theirs = _came_back(file, ours)
    forms = forms_of(ours)
    done = take_back(language, ours, theirs, lambda entry: _refused(entry, forms))
    before = stand(bench, language)
    place = catalogue_path(language)
    after = stand(_with(bench, place, done.raw), language)
    put(bench, {place: done.raw})
    told = _Taken(language, done, before, after)
    if as_json:
        say_json(told.as_dict(), indent=1)
    else:
        told.show()
    return FOUND if told.troubling else DONE


def _came_back(file: Path, ours: Po) -> Po:
    """What is in a catalogue, or in the table that went with it."""
    kind = file.suffix.lower()
    if kind in _FOR_EYES:
        remedy = "import the .po, or the table saved as CSV in UTF-8"
        raise BadInput(str(file), f"a {_FOR_EYES[kind]}, which is not read", remedy)
    raw = _bounded(file)
    if kind not in _TABLES:
        return read_po(str(file), raw)
    rows = read_table(str(file), raw, COLUMNS, optional=FOR_READING)
    return from_table(
        str(file), ((int(row.place.rpartition(":")[2]), row.cells) for row in rows), ours
    )


def _bounded(file: Path) -> bytes:
    raw = read_input(file, CATALOGUE_BYTES)
    if len(raw) > CATALOGUE_BYTES:
        raise BadInput(str(file), f"over {CATALOGUE_BYTES:,} bytes", "import one catalogue")
    return raw


def _refused(entry: Entry, forms: Forms | None) -> str | None:
    fault = refusal("", entry, forms)
    return fault.problem if fault else None


def _with(bench: Bench, path: str, raw: bytes) -> Bench:
    files = {**bench.files, path: raw}
    return Bench(bench.home, files, bench.library, bench.faults, bench.today)


class _Taken:
    """What an import did, as it is told."""

    def __init__(self, language: str, done: Returned, before: Standing, after: Standing) -> None:
        self.language, self.done = language, done
        taken = {one.key for one in (*done.of(Fate.TAKEN), *done.of(Fate.DOUBTFUL))}
        self.blocking = [
            fault
            for fault in after.faults
            if fault.sentence and fault.sentence.key in taken and stops(fault)
        ]
        self.undone = sorted(before.reviewers.keys() - after.reviewers.keys())
        self.approved = len(after.reviewers)

    @property
    def troubling(self) -> bool:
        """Whether somebody has to look at it."""
        asked = (Fate.CONFLICT, Fate.DOUBTFUL)
        return bool(self.blocking or any(map(self.done.of, asked)))

    def as_dict(self) -> dict[str, Any]:
        return {
            "language": self.language,
            "counts": {fate.name.lower(): len(self.done.of(fate)) for fate in Fate},
            "conflicts": [_row(one) for one in self.done.of(Fate.CONFLICT)],
            "doubtful": [_row(one) for one in self.done.of(Fate.DOUBTFUL)],
            "approvals_undone": [
                {"block": key[0], "source": source_of(key)} for key in self.undone
            ],
            "approved": self.approved,
            "blocking": [fault_row(self.language, fault) for fault in self.blocking],
        }

    def show(self) -> None:
        counts = (f"{len(self.done.of(fate))} {fate.value}" for fate in Fate if self.done.of(fate))
        print(f"{self.language}: {', '.join(counts) or 'nothing came back'}")
        for fate in (Fate.CONFLICT, Fate.DOUBTFUL):
            for one in self.done.of(fate):
                why = f": {one.why}" if one.why else ""
                kept = "; ours is kept" if fate is Fate.CONFLICT else ""
                print(f"  line {one.line}, {_named(one.key)}  {fate.value}{kept}{why}")
        for key in self.undone:
            print(f"  {_named(key)}  its approval was for other words; approve it again")
        for fault in self.blocking:
            show_fault(fault)
        print(f"{self.approved} approvals still hold")


def _row(one: Came) -> dict[str, Any]:
    return {"block": one.key[0], "source": source_of(one.key), "line": one.line, "why": one.why}


def _named(key: Key) -> str:
    return steady(f"{key[0]}: {source_of(key)}"[:80])


# --- approve ------------------------------------------------------------------------------


def approve(home: str | None, named: str, name: str, role: str, only: Sequence[str]) -> int:
    """Put a named reviewer behind translations as they stand, all or those named.

    1 when one that was asked for has something found in it that stops it, or is not finished.
    """
    bench = open_bench(home)
    if bench.faults:
        tell_faults(bench.faults)
        raise BadContent("the shelf", "nothing is approved while it cannot be read", "mend it")
    (language,) = chosen(bench, [named])
    one = stand(bench, language)
    if one.unreadable:
        raise _unusable(catalogue_path(language), [_as_error(f) for f in one.faults if _whole(f)])
    wanted = _wanted(one, only)
    drafts = [key for key in wanted if one.states[key] is State.DRAFT]
    if drafts:
        _sign(bench, one, Signature(name, role, bench.today), drafts)
    for line in _covered(one, wanted, drafts):
        tell(line)
    for fault in one.faults:
        if stops(fault) and fault.sentence and fault.sentence.key in wanted:
            show_fault(fault)
    return DONE if all(_settled(one.states[key]) for key in wanted) else FOUND


def _whole(fault: Fault) -> bool:
    return fault.sentence is None and stops(fault)


def _as_error(fault: Fault) -> BadContent:
    return BadContent(fault.place, fault.found.why, fault.help)


def _settled(state: State) -> bool:
    return state in (State.DRAFT, State.APPROVED)


def _wanted(one: Standing, only: Sequence[str]) -> list[Key]:
    """The sentences named, by block, by their own id or by their key in the frame; all when none
    is. Raises ``BadInput``.
    """
    if not only:
        return list(one.states)
    found: dict[Key, None] = {}
    for named in only:
        keys = [key for key, sentence in one.sentences.items() if named in _names(sentence)]
        if not keys:
            near = sorted({key[0] for key in one.states if named[:5] and named[:5] in key[0]})
            remedy = ", ".join(near) or "see 'aftercare content list'"
            raise BadInput(named[:60], "no block or sentence has this id", remedy)
        found.update(dict.fromkeys(keys))
    return list(found)


def _names(sentence: Sentence) -> set[str]:
    return {sentence.key[0], sentence.id, *(use.named for use in sentence.uses if use.named)}


def _sign(bench: Bench, one: Standing, by: Signature, keys: Sequence[Key]) -> None:
    place, beside = catalogue_path(one.language), approvals_path(one.language)
    forms = forms_of(bench.po(one.language))
    words = {key: _words(place, one.translations[key], forms) for key in keys}
    raw = signed(beside, bench.files.get(beside), by, words)
    # Read again before it is put in place: a decision never leaves a broken shelf.
    held = parse_catalogue(one.language, place, bench.files[place], (beside, raw)).phrases
    if not all(held[key].approved for key in keys):
        raise BadContent(beside, "the approval would not hold", "nothing was changed")
    put(bench, {beside: raw})


def _words(place: str, entry: Entry, forms: Forms | None) -> str:
    return approved_words(parse_translation(f"{place}:{entry.line}", entry, forms))


def _covered(one: Standing, wanted: Sequence[Key], signed_now: Sequence[Key]) -> Iterator[str]:
    counts: Mapping[State, int] = {
        state: sum(one.states[key] is state for key in wanted) for state in State
    }
    blocks = ", ".join(dict.fromkeys(key[0] for key in signed_now))
    yield f"{one.language}: {len(signed_now)} translations approved: {blocks or 'none'}"
    if counts[State.APPROVED]:
        yield f"{counts[State.APPROVED]} had been approved before"
    if counts[State.BLOCKED]:
        yield f"{counts[State.BLOCKED]} refused: something found in them stops them"
    left = sum(counts[state] for state in (State.MISSING, State.STALE, State.DOUBTED))
    if left:
        yield f"{left} not approved: they have no finished translation"
