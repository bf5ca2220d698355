"""A file of who waits, and an earlier plan: what is read, and what is refused with its line."""

from __future__ import annotations

import json
from datetime import date

import pytest

from aftercare.edges.waiting import parse_plan, parse_waiting
from aftercare.errors import BadInput
from aftercare.recall.catch_up import Earlier, Listed, Span

START = date(2026, 11, 30)
FACTS = frozenset({"condition:wax", "condition:open-cavity"})
WEEK = Span(date(2026, 12, 7), date(2026, 12, 13))


def parse(text: str | bytes) -> tuple[Listed, ...]:
    raw = text if isinstance(text, bytes) else text.encode()
    return parse_waiting("w", raw, FACTS, START)


def test_a_table_and_json_lines_say_the_same() -> None:
    table = (
        "ref;condition;due;limit;promised;told\n"
        "p-1;open-cavity+wax;2022-11-01;2022-12-06;2026-W50;yes\n"
        "p-2;;2026-12-24;;;\n"
    )
    lines = (
        '{"ref": "p-1", "condition": "open-cavity+wax", "due": "2022-11-01", '
        '"limit": "2022-12-06", "promised": "2026-W50", "told": true}\n\n'
        '{"ref": "p-2", "due": "2026-12-24", "promised": null, "told": false}\n'
    )
    expected = (
        Listed(
            ref="p-1",
            conditions=("condition:open-cavity", "condition:wax"),
            due=date(2022, 11, 1),
            limit=date(2022, 12, 6),
            promised=WEEK,
            told=True,
        ),
        Listed(ref="p-2", conditions=(), due=date(2026, 12, 24)),
    )
    assert parse(table) == parse(lines) == parse("\ufeff" + lines) == expected


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "w:1: empty"),
        ("ref,due\n", "w:1: nobody in it"),
        ("ref\np-1\n", "w:1: no column 'due'"),
        ("ref,due,name\n", "w:1: unknown column 'name'"),
        ("ref,due\np-1,2026-11-01\np-1,2026-11-01\n", "w:3: the same as w:2"),
        ("ref,due\n,2026-11-01\n", "w:2: 'ref' has 0 characters"),
        ("ref,due\np\u202e1,2026-11-01\n", "w:2: 'ref' holds U+202E"),
        ("ref,due\np 1,2026-11-01\n", "w:2: 'ref' holds U+0020"),
        ("ref,due\np-1,01/11/2026\n", "w:2: 'due': '01/11/2026' is not a day"),
        ("ref,due\np-1,1926-11-01\n", "w:2: 'due': 1926-11-01 is too far"),
        ("ref,due\np-1,\n", "w:2: 'due': '' is not a day"),
        ("ref,due,limit\np-1,2026-11-01,soon\n", "w:2: 'limit': 'soon' is not a day"),
        ("ref,due,limit\np-1,2026-11-01,2126-11-01\n", "w:2: 'limit': 2126-11-01 is too far"),
        ("ref,due,condition\np-1,2026-11-01,lug\n", "w:2: 'condition': unknown condition 'lug'"),
        ("ref,due,told\np-1,2026-11-01,perhaps\n", "w:2: 'told': 'perhaps' is neither yes nor no"),
        ("ref,due,promised\np-1,2026-11-01,soon\n", "w:2: 'promised': 'soon' is not a day"),
        ('{"ref": "p-1"}', "w:1: no 'due'"),
        ('{"ref": 7, "due": "2026-11-01"}', "w:1: 'ref' is not a text"),
        ('{"ref": "p", "due": "2026-11-01", "name": "x"}', "w:1: unknown key 'name'"),
        ('{"ref": "p", "due": "2026-11-01"}\n[1]', "w:2: not an object"),
        ('{"ref": "p", "due": "2026-11-01"}\n{"a', "w:2: not JSON in UTF-8"),
        ('{"ref": ' + "[" * 100_000, "w:1: not JSON in UTF-8"),
        (b"ref,due\np-\x00,2026-11-01\n", "w:2: the character U+0000"),
    ],
)
def test_what_says_nobody_is_refused_with_its_line(text: str | bytes, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse(text)
    assert said in str(refused.value)


def test_an_earlier_plan_gives_back_days_and_who_was_told() -> None:
    places = [
        {"ref": "a", "when": "2026-W50", "told": True, "reason": "any"},
        {"ref": "b", "when": "2026-12-03", "told": False},
        {"ref": "c", "when": None, "told": False},
    ]

    found = parse_plan("plan.json", json.dumps({"places": places}).encode())

    assert found == {
        "a": Earlier(when=WEEK, told=True),
        "b": Earlier(when=Span.day(date(2026, 12, 3)), told=False),
    }


@pytest.mark.parametrize(
    "raw",
    [
        b"", b"[]", b"{}", b'{"places": 3}', b'{"places": [3]}', b'{"places": [{"ref": "a"}]}',
        b'{"places": [{"ref": "a", "when": "2026-W99", "told": false}]}',
        b'{"places": [{"ref": "a", "when": "2026-W50", "told": "no"}]}',
        b'{"places": [{"ref": 1, "when": "2026-W50", "told": false}]}',
        b"\xff", b"[" * 100_000,
    ],
)  # fmt: skip
def test_what_is_no_plan_is_refused(raw: bytes) -> None:
    with pytest.raises(BadInput, match="not a plan"):
        parse_plan("plan.json", raw)
