"""What can be wrong with a row, in words for whoever mends it, and what to do about each."""

from __future__ import annotations

import re
from dataclasses import dataclass

from aftercare.recall.people import Standing

# By what is said: what to do. A reason never holds what stood in the cell.
REMEDIES = {
    "could be day first or month first": "say in the mapping how dates are written: dates = "
    '"day-first"',
    "a year of two digits": "write the year in full",
    "a bare number": 'say in the mapping what it counts from: serials = 1900 (or 1904, "'
    "the date system the workbook has)",
    "29 February 1900, a day some spreadsheets count and nobody lived": "look it up",
    "no such day": "look it up",
    "not a date": "write it like 1960-04-23",
    "in the future": "look it up",
    "too long ago": "look it up",
    "before the birth": "look both up",
    "not a phone number": "ask for the number",
    "written as a power of ten, so its last digits are lost": "format the column as text and "
    "export again",
    "a number kept for fiction": "ask for the number",
    "not a number that takes texts": "ask for a mobile number if texts are wanted",
    "not an e-mail address that can be written to": "ask for the address",
    "empty": "fill it in",
    "too long": "look at the row",
    "a character that has no place in a list": "export the list again, or type the cell anew",
    "begins like a formula": "replace the formula by its value",
    "a formula": "replace the formula by its value",
    "part of a merged cell": "part the merged cell, and fill in each row",
    "an object where a word was wanted": "write a word or a list of words",
    "not a word the mapping knows": "add the word to the mapping, or mend the cell",
    "an open question": "find out, and say yes or no",
    "speak of a death": "find out whose; then say so in the deceased column, or clear the note",
    "fails the check digit": "look it up",
    "not a number of months or weeks": "write months, like 6",
    "longer than the clinic allows": "ask the clinician",
    "as many cells as the header has are wanted": "look at the row for a stray separator or "
    "quotation mark",
    "no visit to count from": "fill in the day of the visit",
    "before the visit": "look both up",
    "the same reference as": 'keep one of them, or say in the mapping: lines = "visits"',
    "the same name and date of birth as": "find out whether it is one person; keep one reference",
    "agreed to, and nothing to reach them by": "ask for the number or address, or for another way",
    "refused or withdrawn": "nothing, unless they change their mind; then record it: "
    "aftercare recall opt-in REF --consent HOW",
    "whether refused or never asked is not told": "write refused or not asked in the list; who was "
    "never asked can be asked",
    "not asked": "ask when they next come or ring; record a yes: aftercare recall opt-in REF "
    "--consent HOW",
    "an error value": "mend the formula and export again",
    "seen with this and no interval": "a clinician says when; the recall waits until then",
}
# A cell that begins so was found unfit by who read it; the words after it say why.
MARK = "\x1a"
_OTHER_ROW = re.compile(r" rows? \d.*$")
_DATED = re.compile(r"(?<=^no consent) on \d{4}-\d\d-\d\d")


@dataclass(frozen=True, slots=True)
class Trouble:
    """A cell that cannot be taken as it stands, what is kept of it, and what follows."""

    value: str | None
    said: str
    standing: Standing = Standing.HOLD


@dataclass(frozen=True, slots=True)
class Note:
    """Something about one row; ``standing`` READY only tells."""

    standing: Standing
    said: str


def kind_of(reason: str) -> str:
    """The reason without rows and days, so that the same reasons are counted together."""
    return _DATED.sub("", _OTHER_ROW.sub(" another row", reason))


def remedy(reason: str) -> str:
    """What to do about a reason; "" when nothing is to be done."""
    said = reason.partition(": ")[2] or reason
    return next((do for what, do in REMEDIES.items() if said.startswith(what)), "")
