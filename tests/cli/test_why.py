"""``aftercare why``: every sentence with the block and the fact it comes from."""

from __future__ import annotations

import re
from collections.abc import Callable
from email import policy
from email.parser import BytesParser
from pathlib import Path
from typing import Any

import pytest

from aftercare.edges.press import TypstPress
from aftercare.model import Library

Run = Callable[..., Any]
TWO_EARS = {
    "visit__treated": "both",
    "ears": [
        {
            "side": "left",
            "conditions": ["wax"],
            "procedures": ["suction"],
            "findings": ["cleared"],
            "removed_cm": 2.5,
        },
        {
            "side": "right",
            "conditions": ["open-cavity"],
            "procedures": ["suction"],
            "findings": ["cleared"],
            "removed_cm": 4.5,
        },
    ],
}


def told(out: str) -> tuple[dict[str, list[str]], dict[str, str]]:
    """What was chosen (heading -> sentences) and what was left out (id -> reason)."""
    chosen_part, _, left_part = out.partition("\nLeft out\n")
    chosen: dict[str, list[str]] = {}
    for piece in chosen_part.split("\n\n")[1:]:
        heading, *sentences = piece.strip("\n").split("\n")
        assert all(sentence.startswith("    ") for sentence in sentences)
        assert heading not in chosen
        chosen[heading] = [sentence.strip() for sentence in sentences]
    left = dict(line.strip().split(": ", 1) for line in left_part.splitlines())
    return chosen, left


def test_every_block_is_chosen_or_left_out_with_its_reason(
    run: Run, visit: Run, library: Library
) -> None:
    answer = run("why", visit())

    chosen, left = told(answer.out)
    ids = [heading.split(" ")[0] for heading in chosen]
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.startswith(f"v-1: chosen from library {library.fingerprint}\n")
    assert sorted([*ids, *left]) == sorted(block.id for block in library.blocks)
    assert all(" because " in heading and sentences for heading, sentences in chosen.items())
    assert left["normal-cavity"] == "needs condition:open-cavity"
    (wax,) = (heading for heading in chosen if heading.startswith("normal-wax "))
    assert wax.endswith("(normal, left ear, draft) because condition:wax")


def test_each_ear_s_own_sentences_stand_under_its_own_block(run: Run, visit: Run) -> None:
    chosen, left = told(run("why", visit(**TWO_EARS)).out)

    lengths = {
        heading.split("(")[1].split(",")[1].strip(): sentences
        for heading, sentences in chosen.items()
        if heading.startswith("done-length ")
    }
    assert set(lengths) == {"left ear", "right ear"}
    assert "left ear" in lengths["left ear"][0]
    assert "2.5 cm" in lengths["left ear"][0]
    assert "right ear" in lengths["right ear"][0]
    assert "4.5 cm" in lengths["right ear"][0]
    assert any(heading.startswith("done-suction 1 (done, both ears") for heading in chosen)
    assert left["water-grommet"] == (
        "left ear: needs condition:grommet; right ear: never given with condition:open-cavity"
    )


def test_no_sentence_is_lost_or_told_twice(run: Run, visit: Run, approved_home: Path) -> None:
    """The sentences are those of the e-mail, one for one."""
    path = visit(**TWO_EARS)
    chosen, _ = told(run("why", path, "--home", approved_home).out)
    run("discharge", path, "--home", approved_home, "--channel", "email")
    raw = Path("out/v-1/message.eml").read_bytes()
    plain = BytesParser(policy=policy.default).parsebytes(raw).get_body(("plain",))

    assert plain is not None
    lines = [line.strip() for line in plain.get_content().splitlines() if line.strip()]
    said = [re.sub(r"^(- |\d+\. )", "", line) for line in lines]
    for sentence in (sentence for sentences in chosen.values() for sentence in sentences):
        assert sentence in said
        said.remove(sentence)
    # What is left of the e-mail is its furniture.
    assert len([line for line in said if not line.startswith("==")]) == 6, said


def test_reasons_need_no_press(run: Run, visit: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def jammed(press: TypstPress, data: str) -> None:
        raise AssertionError

    monkeypatch.setattr(TypstPress, "press", jammed)

    assert run("why", visit(patient__agreed=["print"])).code == 0


def test_a_visit_may_come_from_standard_input(run: Run, visit: Run) -> None:
    raw = Path(visit()).read_bytes()

    assert run("why", "-", given=raw).out == run("why", "v.json").out


def test_a_bad_visit_is_bad_input(run: Run, visit: Run) -> None:
    answer = run("why", visit(visit__treated="right"))

    assert (answer.code, answer.out) == (2, "")
    assert "visit.treated: 'right', but the ears described are: left" in answer.err
    assert not Path("out").exists()
