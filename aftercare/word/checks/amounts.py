"""Numbers, units and times kept: in figures or in words, whatever the script of the digits."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import replace

from aftercare.word.checks.lexicon import Found
from aftercare.word.checks.pair import Finding, Read, Severity
from aftercare.word.checks.tongues import Amount, Tongue
from aftercare.word.checks.words import NUMBER, Sentence

NUMBERS, UNITS, TIMES = "numbers", "units", "times"
# How far from a number its unit may stand: "10 pełnych dni", "3 more whole days".
REACH = 4
MEASURES = frozenset({"minute", "hour", "day", "week", "month", "year", "ml", "mg", "cm", "mm"})
MINUTES = {"minute": 1, "hour": 60, "day": 1440, "week": 10080}
NOON = 12
AFTERNOON, MORNING = "pm", "am"
# A figure that may be a time of day: some languages part its minutes by a point (9.30).
_POINTED = re.compile(rf"{NUMBER}([01]?\d|2[0-4])\.([0-5]\d)")


def numbers(read: Read) -> Iterator[Finding]:
    """Every number of the source is in the translation, and no other is."""
    said, told = _amounts(read.source, read.english), _amounts(read.target, read.tongue)
    clocks = _clocks(read)
    for one in _unmatched(said, told, {hour % NOON: hour for hour in clocks}):
        yield _finding(NUMBERS, f"the source says {_shown(one)}; the translation does not")
    for one in _unmatched(told, [*said, *(Amount(hour, clock=hour) for hour in clocks)], {}):
        yield _finding(NUMBERS, f"the translation says {_shown(one)}; the source does not")


def units(read: Read) -> Iterator[Finding]:
    """A number keeps its unit, and no unit takes the place of another."""
    said, told = _amounts(read.source, read.english), _amounts(read.target, read.tongue)
    mine, theirs = _units(read.source, read.english), _units(read.target, read.tongue)
    for one in said:
        if one.unit in MEASURES:
            yield from _unit_lost(one, said, told, theirs)
    same = {_minutes(one) for one in told} - {None}
    converted = {one.unit for one in said if _minutes(one) in same}
    lost = (mine - theirs).keys() & MEASURES - converted
    gained = (theirs.keys() - mine.keys()) & MEASURES
    if lost and gained:
        yield _finding(
            UNITS, f"the source counts in {_named(lost)}, the translation in {_named(gained)}"
        )


def times(read: Read) -> Iterator[Finding]:
    """Days of the week are kept, and the half of the day."""
    days = set(read.english.weekdays.values(read.source))
    if days and days != set(read.tongue.weekdays.values(read.target)):
        yield _finding(TIMES, "the days of the week are not those of the source")
    halves = set(read.tongue.halves.values(read.target))
    told = _amounts(read.target, read.tongue)
    figures = {one.value if one.clock is None else one.clock for one in told}
    for clock in _clocks(read):
        if clock > NOON and clock not in figures and halves == {MORNING}:
            yield _finding(TIMES, f"{clock - NOON:g} in the afternoon is told as in the morning")
        if clock < NOON and clock in figures and halves == {AFTERNOON}:
            yield _finding(TIMES, f"{clock:g} in the morning is told as in the afternoon")


def _finding(kind: str, why: str) -> Finding:
    return Finding(kind, Severity.BLOCK, why)


def _shown(one: Amount) -> str:
    return f"{one.value:g} {one.unit}(s)" if one.unit else f"{one.value:g}"


def _named(units: Iterable[str]) -> str:
    return " and ".join(sorted(f"{unit}s" for unit in units))


# --- what is the same -------------------------------------------------------------------


def _unmatched(
    wanted: list[Amount], there: list[Amount], also: Mapping[float, float]
) -> Iterator[Amount]:
    """Numbers with nothing like them on the other side; a one is often an article or left out.

    ``also`` is what else a number may be told as: 5 in the afternoon as 17.
    """
    values, plain = {one.value for one in there}, {o.value for o in there if o.clock is None}
    clocks = {one.clock for one in there} - {None}
    lengths = {_minutes(one) for one in there} - {None}
    seen: set[float] = set()
    for one in wanted:
        if one.soft or one.value == 1 or one.value in seen:
            continue
        seen.add(one.value)
        # A time of day is that time or a number in words (half past nine), not the figure 9.50.
        same = plain | clocks if one.clock is not None else values
        told = {one.value if one.clock is None else one.clock, also.get(one.value)}
        decimal = one.clock is not None and one.value in plain
        if not (told & same or decimal or _minutes(one) in lengths):
            yield one


def _minutes(one: Amount) -> float | None:
    """The length of time, so that half an hour is 30 minutes; None for anything else."""
    return one.value * MINUTES[one.unit] if one.unit in MINUTES else None


def _unit_lost(
    one: Amount, said: list[Amount], told: list[Amount], theirs: Container[str]
) -> Iterator[Finding]:
    """A length that the translation tells of the same number in another unit, or in none."""
    same = [other for other in told if other.value == one.value]
    if any(other.unit == one.unit for other in same):
        return
    # Half an hour is 30 minutes, as long as those 30 minutes are not said beside it.
    if any(_minutes(other) == _minutes(one) is not None for other in told if other not in said):
        return
    if any(other.unit is None for other in same) and one.unit in theirs:
        return
    if same or (one.value == 1 and one.unit not in theirs):
        yield _finding(UNITS, f"{_shown(one)} of the source is not told with the same unit")


# --- what is said -----------------------------------------------------------------------


def _clocks(read: Read) -> frozenset[float]:
    """Hours of the day in the source; 17 stands for 5pm, and 5 does in the translation too."""
    found: set[float] = set()
    for one in read.source:
        halves = {half.start: half.value for half in read.english.halves.find(one)}
        for at, word in enumerate(one):
            if word.startswith(NUMBER) and at + 1 in halves:
                hour = _value(word) % NOON
                found.add(hour + NOON if halves[at + 1] == AFTERNOON else hour)
    return frozenset(found)


def _amounts(sentences: tuple[Sentence, ...], tongue: Tongue) -> list[Amount]:
    return [one for words in sentences for one in _amounts_of(words, tongue)]


def _amounts_of(words: Sentence, tongue: Tongue) -> Iterator[Amount]:
    """The quantities of a sentence, each with the unit that follows it."""
    days = _days(words, tongue)
    said = {one.start: (one.end, one.value) for one in tongue.numbers.find(words)}
    for at, word in enumerate(words):
        if word.startswith(NUMBER):
            said[at] = (at + 1, Amount(_value(word), clock=_clock(word)))
    units = {unit.start: unit.value for unit in _units_of(words, tongue)}
    for at, (end, amount) in said.items():
        if at not in days or words[at].startswith(NUMBER):
            unit = amount.unit or _unit_after(end, len(words), said, units)
            yield replace(amount, unit=unit)


def _days(words: Sentence, tongue: Tongue) -> set[int]:
    return {at for day in tongue.weekdays.find(words) for at in range(day.start, day.end)}


def _units_of(words: Sentence, tongue: Tongue) -> list[Found[str]]:
    """The units of a sentence, but for those within a longer name of a day (Chinese)."""
    days = [(day.start, day.end) for day in tongue.weekdays.find(words)]
    return [unit for unit in tongue.units.find(words) if not _within(unit, days)]


def _within(one: Found[str], spans: Iterable[tuple[int, int]]) -> bool:
    return any(
        start <= one.start and one.end <= end and end - start > one.end - one.start
        for start, end in spans
    )


def _units(sentences: tuple[Sentence, ...], tongue: Tongue) -> Counter[str]:
    """How often each unit is said; what says number and unit in one has its own (fortnight)."""
    found: Counter[str] = Counter()
    for words in sentences:
        whole = [one for one in tongue.numbers.find(words) if one.value.unit]
        found.update(one.value.unit for one in whole if one.value.unit)
        spans = [(one.start, one.end) for one in whole]
        found.update(u.value for u in _units_of(words, tongue) if not _inside(u, spans))
    return found


def _inside(one: Found[str], spans: Iterable[tuple[int, int]]) -> bool:
    return any(start <= one.start and one.end <= end for start, end in spans)


def _unit_after(
    end: int, length: int, said: dict[int, tuple[int, Amount]], units: dict[int, str]
) -> str | None:
    """The first unit within reach; past another number only if it follows at once: two to three."""
    at, start, last = end, end, min(end + REACH, length)
    while at < last:
        if at in units:
            return units[at]
        if at not in said:
            at += 1
        elif at - start > 1 or start > end:
            return None
        else:
            at = start = said[at][0]
            last = min(start + REACH, length)
    return None


def _value(word: str) -> float:
    """The value of a figure; of a time of day its hours, the minutes as a fraction."""
    hours, _, minutes = word.removeprefix(NUMBER).partition(":")
    return float(hours) + (float(minutes) / 60 if minutes else 0)


def _clock(word: str) -> float | None:
    """The time of day that a figure is or may be, in hours; None for what can be none."""
    if ":" in word:
        return _value(word)
    found = _POINTED.fullmatch(word)
    return int(found[1]) + int(found[2]) / 60 if found else None
