"""The control total: how many people, opt-outs and recalls there are, and a sum over the recalls.

The chain says what happened, not what the tables hold. So each piece of work says in its sealed
row by how much it moved this total, and what the tables hold now has to come to the same: a recall
that was taken out, put off, closed or given to somebody else behind the register's back does not.

The sum is of one product a recall, of its numbers and of its days, with factors that come from
the chain's key. Who does not hold the key cannot make two changes that cancel out but by chance,
one in two thousand million. It says that something is wrong, not which recall it is.
"""

from __future__ import annotations

import hmac
import json
from collections.abc import Iterable, Iterator
from functools import lru_cache
from operator import add, sub
from typing import NamedTuple

from sqlalchemy import Connection, text

from aftercare.edges.register.chain import Link

NAME = "control_total"
# A Mersenne prime: two factors below it have a product that fits 64 bits, on either engine.
_PRIME = 2**31 - 1
# Both count a day as so many since noon on 1 January 4713 BC, the Julian day number.
_DAY = {
    "sqlite": "coalesce(CAST(julianday({0}) AS INTEGER), 0)",
    "postgresql": "coalesce({0} - DATE '0001-01-01' + 1721425, 0)",
}
_INITIAL = {"sqlite": "coalesce(unicode(substr({0}, 11, 1)), 0)",
            "postgresql": "ascii(substr({0}, 11, 1))"}  # fmt: skip
_BIG = {"sqlite": "{0}", "postgresql": "CAST({0} AS BIGINT)"}


class Total(NamedTuple):
    """How many people, opt-outs and recalls, and the sum over the recalls; or by how much it moved.

    It is written in this order, parted by colons.
    """

    people: int = 0
    opt_outs: int = 0
    recalls: int = 0
    days: int = 0

    def and_(self, other: Total) -> Total:
        """Both together."""
        return Total(*map(add, self, other))

    def less(self, other: Total) -> Total:
        """By how much this one is more."""
        return Total(*map(sub, self, other))

    def written(self) -> str:
        """As a detail of what happened."""
        return ":".join(map(str, self))


def read_total(link: Link) -> Total | None:
    """By how much a row of the chain says that the total moved; None when it says nothing of it."""
    if f'"{NAME}"' not in link.details:
        return None
    return Total(*map(int, json.loads(link.details)[NAME].split(":")))


def following(links: Iterable[Link], totals: list[Total]) -> Iterator[Link]:
    """The links as they come, keeping what they say of the total."""
    for link in links:
        found = read_total(link)
        if found is not None:
            totals.append(found)
        yield link


def whole(connection: Connection, key: bytes) -> Total:
    """The total of everything in the tables."""
    people, opt_outs = (
        int(connection.execute(text(f"SELECT count(*) FROM {name}")).scalar_one())  # noqa: S608
        for name in ("patients", "preferences")
    )
    return of_recalls(connection, key, "true")._replace(people=people, opt_outs=opt_outs)


def of_recalls(connection: Connection, key: bytes, which: str, **values: int) -> Total:
    """The total of the recalls that ``which``, a condition of our own in SQL, holds of."""
    said = f"SELECT {columns(connection.dialect.name, key)} FROM recalls WHERE {which}"  # noqa: S608
    count, days = connection.execute(text(said), values).one()
    return Total(recalls=int(count), days=int(days))


@lru_cache(maxsize=16)
def columns(engine: str, key: bytes) -> str:
    """The columns of a query over recalls that count them and sum over them."""
    a, b, c, d, e, f, g, h, i = (_factor(key, number) for number in range(9))
    big = _BIG[engine]
    days = [_DAY[engine].format(name) for name in ("anchor", "due", "closed")]
    anchor, due, closed = (big.format(f"({day})") for day in days)
    interval = big.format("(months * 1000 + weeks)")
    # Of a text both engines know its length and one letter's number: enough to tell apart what
    # shared/facts.toml has, after the ten letters of 'condition:'.
    named = big.format(f"(length(condition) * 65536 + {_INITIAL[engine].format('condition')})")
    numbers = f"(rid * {a} + pid * {b} + {c}) % {_PRIME}"
    agreed = (
        f"({anchor} * {d} + {due} * {e} + {closed} * {f} + {interval} * {g} + {named} * {h} + {i})"
        f" % {_PRIME}"
    )
    return f"count(*), coalesce(sum({numbers} * ({agreed}) % {_PRIME}), 0)"


def _factor(key: bytes, number: int) -> int:
    made = hmac.digest(key, f"control total {number}".encode(), "sha256")
    return int.from_bytes(made[:8]) % (_PRIME - 1) + 1
