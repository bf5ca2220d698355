"""``aftercare locales extract, update``: what translators are asked for, in step with the shelf."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from aftercare.cli import DONE, say_json, tell
from aftercare.cli.catalogues import (
    asked,
    catalogue_path,
    language_of,
    open_bench,
    put,
    refuse_faults,
)
from aftercare.library.po import Key, read_po, source_of
from aftercare.library.template import TEMPLATE, template
from aftercare.library.update import Updated, update


def extract_template(home: str | None, *, as_json: bool) -> int:
    """Write the template of every sentence on the shelf; the same bytes for the same sentences."""
    bench = open_bench(home)
    refuse_faults(bench)
    raw = template(asked(bench), bench.files.get(TEMPLATE), bench.today)
    changed = put(bench, {TEMPLATE: raw})
    many = len(read_po(TEMPLATE, raw).entries)
    if as_json:
        say_json({"file": TEMPLATE, "sentences": many, "changed": bool(changed)})
    else:
        tell(f"{TEMPLATE}: {many} sentences, {'written' if changed else 'as it was'}")
    return DONE


def update_catalogues(home: str | None, named: Sequence[str], *, as_json: bool) -> int:
    """Bring the template and the catalogues named, or all there are, into step with the shelf.

    A language without a catalogue gets one. All files are put in place, or none.
    """
    bench = open_bench(home)
    refuse_faults(bench)
    raw = template(asked(bench), bench.files.get(TEMPLATE), bench.today)
    wanted = read_po(TEMPLATE, raw)
    done = {
        language: update(
            language, catalogue_path(language), bench.files.get(catalogue_path(language)), wanted
        )
        for language in tuple(dict.fromkeys(map(language_of, named))) or bench.languages
    }
    # The template comes last: while it is old, it is plain that not all has been brought in step.
    put(bench, {**{catalogue_path(one): of.raw for one, of in done.items()}, TEMPLATE: raw})
    for language, of in done.items():
        _show(language, of)
    if as_json:
        say_json({language: _told(of) for language, of in done.items()}, indent=1)
    return DONE


def _told(of: Updated) -> dict[str, Any]:
    return {
        "kept": of.kept,
        "stale": _listed(of.stale),
        "new": _listed(of.new),
        "back": _listed(of.back),
        "gone": _listed(of.gone),
    }


def _listed(keys: Sequence[Key]) -> list[dict[str, str]]:
    return [{"block": key[0], "source": source_of(key)} for key in keys]


def _show(language: str, of: Updated) -> None:
    tell(
        f"{language}: {of.kept} kept, {len(of.stale)} stale (their source has changed), "
        f"{len(of.new)} to translate, {len(of.back)} back in use, {len(of.gone)} kept as obsolete"
    )
