"""The hardest leaflet is a real one, and on a small shelf the hardest of all."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from made_up import TODAY, FakePress
from made_up_blocks import block

from aftercare.flow import discharge
from aftercare.model import Case, Channel, Library, Message, Purpose
from aftercare.proof.hardest import Hardest, hardest
from aftercare.proof.programme import LooseProgramme, Programme
from aftercare.proof.reading import Proved, prove_language
from aftercare.proof.witness import case_of
from aftercare.proof.wordings import PAGE

Made = Callable[..., Library]
EASY, HARD = (
    "Sit down. Rest. Go home.\n",
    "Regular examinations identify unexpected difficulties.\n",
)
SHELF = (
    block("a-all", "Call us.\n", kind="urgent"),
    block("b-wax", HARD, given="condition:wax"),
    block("c-child", EASY, kind="water", given="age:child"),
    block("d-bar", HARD, kind="others", withheld="caution:diabetes"),
    block("e-reader", "[reader:self] Rest.\n\n[reader:parent] " + HARD, kind="done"),
    block("f-length", HARD, kind="done", given="length:noted"),
    block("g-side", "- [side:left] Go.\n- [side:right] " + HARD + "- [side:both] Sit.\n",
          kind="normal", given="condition:wax"),
)  # fmt: skip


def page_of(library: Library, language: str = "en") -> Proved:
    return next(one for one in prove_language(library, language) if one.form == PAGE)


def proved(library: Library) -> Hardest:
    found = hardest(page_of(library), Programme(library), library.blocks)
    assert found is not None
    return found


def leaflet(case: Case, library: Library) -> Message:
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE,
        channels=[Channel.PRINT],
    )  # fmt: skip
    return done.messages[0]


def grade(case: Case, library: Library) -> float:
    """The formula on a page, which is too short here to be told a grade."""
    formula = page_of(library).formula
    assert formula is not None
    return formula.compute(leaflet(case, library).score.counts)


def cut(library: Library, small: Any, kept: Iterable[str] = ("noted", "not-noted")) -> Library:
    made: Library = small(
        library, condition=("wax",), procedure=("suction",), caution=("diabetes",), length=kept
    )
    return made


def test_no_leaflet_of_a_small_shelf_is_harder(shelf_of: Made, small: Any) -> None:
    library = cut(shelf_of(*SHELF), small)
    grades = {held: grade(case, library) for held, case in small.everybody(library).items()}

    found = proved(library)

    # The visit line's date is the hardest there is, so a little is lost on a real day.
    assert 0 <= found.value - max(grades.values()) < 0.5
    assert grades[found.held] == max(grades.values())
    assert min(grades.values()) < found.value - 1
    # It is proved to the place that is told, and the bound that asks nothing of patients is above.
    assert found.bound == round(found.value, 1)
    bound = page_of(library).bound
    assert bound is not None
    assert found.value <= bound


@pytest.mark.parametrize(("seed", "most"), [(0, 99), (1, 1), (2, 1), (3, 99)])
def test_no_leaflet_of_a_made_up_shelf_is_above_the_bound_and_one_is_at_it(
    seed: int, most: int, shelf_of: Made, small: Any
) -> None:
    """Sentences of all lengths, so that climbing alone is often led astray.

    Where little may be asked, what the looser programme finds is often nobody's leaflet.
    """
    draw = Random(seed)  # noqa: S311
    given = ("condition:wax", "age:child", "caution:diabetes", "length:noted", "")

    def words() -> str:
        many = draw.choice((2, 4, 9, 18))
        said = (draw.choice(("go", "rest", "water", "examination")) for _ in range(many))
        return f"Please {' '.join(said)}.\n"

    texts = [
        block(f"b-{n}", words() * draw.choice((1, 3)), given=draw.choice(given), kind=kind,
              more=f"actions: {int(kind == 'care')}\n")
        for n, kind in enumerate(("normal", "care") * 4)
    ]  # fmt: skip
    library = cut(shelf_of(block("a", words(), kind="urgent"), *texts), small)
    library = replace(library, limits=replace(library.limits, actions=most))
    page = page_of(library)
    grades = [grade(case, library) for case in small.everybody(library).values()]
    exact, guided = (
        hardest(page, Programme(library), library.blocks, guide)
        for guide in (None, LooseProgramme(library))
    )

    assert exact is not None
    assert guided is not None
    # The date in the visit line is the hardest there is, so a real day may be a little easier.
    assert -1e-9 <= exact.value - max(grades) < 0.5
    assert exact.bound == round(exact.value, 1)
    assert round(guided.value, 1) == guided.bound == exact.bound


def test_where_nothing_can_be_ruled_out_the_bound_is_the_one_that_asks_nothing_of_patients(
    shelf_of: Made, small: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = cut(shelf_of(*SHELF), small)
    monkeypatch.setattr("aftercare.proof.hardest._QUESTIONS", 0)

    assert proved(library).bound == page_of(library).bound


def test_a_length_told_of_each_ear_is_read_twice(shelf_of: Made, small: Any) -> None:
    """Of the two leaflets that hold it twice and once, the value is that of twice."""
    only = (block("a-all", EASY, kind="urgent"), block("f-length", HARD, kind="done",
            given="length:noted"))  # fmt: skip
    library = cut(shelf_of(*only), small)

    found = proved(library)

    real = grade(case_of(found.held, "en", TODAY), library)
    assert abs(found.value - real) < 0.5
    assert {str(asked) for asked in found.held} >= {
        "left ear: length:noted", "right ear: length:noted",
    }  # fmt: skip


def test_a_shelf_that_can_only_be_easy_is_told_so(shelf_of: Made, small: Any) -> None:
    hard, easy = (cut(shelf_of(block("a-all", words)), small) for words in (HARD, EASY))

    assert proved(hard).value > proved(easy).value + 1


def test_a_language_held_to_no_formula_has_none(library: Library) -> None:
    page = replace(page_of(library), formula=None)

    assert hardest(page, Programme(library), library.blocks) is None
    assert hardest(replace(page_of(library), bound=None), Programme(library), ()) is None


@pytest.fixture(scope="module")
def of_shelf(library: Library) -> Hardest:
    return proved(library)


def test_the_hardest_of_the_shelf_is_a_leaflet_that_can_be_made(
    library: Library, of_shelf: Hardest
) -> None:
    real = grade(case_of(of_shelf.held, "en", TODAY), library)
    bound = page_of(library).bound

    assert abs(of_shelf.value - real) < 0.3
    assert bound is not None
    assert of_shelf.value <= bound


def test_a_language_whose_furniture_has_no_words_yet_is_proved_all_the_same(
    shelf_of: Made, small: Any
) -> None:
    """What everybody reads is then nothing, so there is no leaflet to begin from."""
    texts = (block("b", HARD, given="condition:wax"), block("c", EASY, given="age:child"))
    library = cut(shelf_of(*texts), small)
    page = page_of(library)
    no_frame = tuple(cost for cost in page.costs if cost.wording.block != "frame")

    found = hardest(replace(page, costs=no_frame), Programme(library), library.blocks)

    assert found is not None
    assert any(asked.fact == "condition:wax" for asked in found.held)
    assert found.value == max(cost.grade or 0.0 for cost in no_frame)


def test_what_is_harder_than_most_is_left_out_beside_what_is_harder_still(
    shelf_of: Made, small: Any
) -> None:
    """Beside the furniture alone it would add to the grade: one step is not enough."""
    middling = "Keep drinking water, and remember to rest every afternoon.\n"
    texts = (
        block("b", HARD * 3, given="condition:wax"),
        block("c", middling, given="age:child"),
        block("d", middling, given="caution:diabetes"),
    )
    library = cut(shelf_of(*texts), small, kept=())
    grades = {held: grade(case, library) for held, case in small.everybody(library).items()}

    found = proved(library)

    assert grades[found.held] == max(grades.values())
    assert not [asked for asked in found.held if asked.fact in ("age:child", "caution:diabetes")]
