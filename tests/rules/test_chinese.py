"""Chinese, which puts no blanks between words: what the rules look for is found all the same.

The sentences were written for this test; what they say of ears is common practice, no source.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from babel.messages.pofile import read_po
from made_up import HOME

from aftercare.library.rulewords import THINGS
from aftercare.model import Channel, Library
from aftercare.rules.sayings import says, sentences, vocabulary, words

ZH = "zh"

# Of each thing: a sentence that says it, and one that nearly does.
SAID = {
    "side_left": ("左耳现在已经清理干净。", "三天左右会好。"),
    "side_right": ("请把药滴在右耳。", "三天左右会好。"),
    "self_bought_drops": ("可以滴橄榄油。", "不要滴橄榄油。"),
    "nothing_in": ("不要把任何东西放进耳朵。", "除了滴耳液，不要把任何东西放进耳朵。"),
    "keep_dry": ("请让左耳保持干燥。", "即使左耳要保持干燥也要用。"),
    "drops_told": ("请按标签说明使用滴耳液。", "滴药引起疼痛：请停用滴耳液。"),
    "swim_ban": ("在此之前不要游泳。", "绝不要独自游泳。"),
    "swim_freely": ("洗浴或游泳时，左耳可以沾水。", "一个月后才可以游泳。"),
    "ask_before_swimming": ("游泳前请先问我们。", "如果想在湖里游泳，请先问我们。"),
    "may_get_wet": ("双耳都可以沾水。", "左耳不可以沾水。"),
    "plug_for_washing": ("把凡士林揉进棉花里。", "用棉花擦干。"),
    "irrigation": ("护士可以用水冲洗左耳。", "不要让任何人用水冲洗这只耳朵。"),
    "wax_advice": ("耳垢会自行排出。", "术腔不能很好地自我清洁。"),
    "nut_oil": ("请用杏仁油。", "不要用杏仁油。"),
    "infection": ("耳道受了感染。", "感觉很好。"),
    "no_better_in_72_hours": ("耳朵感染三天没有好转。", "三天没有好转，不必担心。"),
    "aspirin_or_ibuprofen": ("可以吃布洛芬。", "不要吃布洛芬。"),
    "aspirin": ("可以吃阿司匹林。", "不要吃阿司匹林。"),
    "stop_medicine": ("请停用抗血栓药。", "不要停用抗血栓药。"),
    "bleeding": ("少许血迹很常见。", "血压正常。"),
    "pain": ("耳朵很疼。", "头痛得厉害。"),
    "fluid": ("左耳有液体流出。", "用滴耳液。"),
    "hearing_change": ("听力变差。", "请戴助听器。"),
    "at_once": ("请当天联系我们。", "请在三天内联系我们。"),
    "later": ("请在三天内联系我们。", "请当天联系我们。"),
    "other_than_voice": ("请找人帮忙拨打 999。", "请拨打 999。"),
    "patient_voice": ("您的左耳很干净。", "您的孩子很好。"),
    "adult_dose": ("每次吃两片。", "不适用于成人剂量。"),
    "adult_timing": ("请在30天内就诊。", "请在3天内就诊。"),
    "parent_voice": ("今天请待在孩子身边。", "今天请找人陪伴。"),
    "dizziness_line": ("如果头晕，请坐下。", "头晕得站不起来。"),
    "aid_out": ("滴药前请取下助听器。", "助听器会把耳垢往里推。"),
    "aid_in": ("请戴上助听器。", "请先不要戴助听器。"),
    "agent_aminoglycoside": ("请滴庆大霉素。", "请滴氯霉素。"),
    "agent_quinolone": ("请滴环丙沙星。", "不要滴环丙沙星。"),
    "agent_chloramphenicol": ("请滴氯霉素。", "请滴新霉素。"),
    "agent_polymyxin": ("内含多黏菌素。", "内含氯霉素。"),
    "agent_steroid": ("内含地塞米松。", "内含克霉唑。"),
    "agent_clotrimazole": ("内含克霉唑。", "内含氯霉素。"),
}


def test_there_is_a_sentence_for_each_thing_a_rule_asks_for() -> None:
    assert SAID.keys() == THINGS


@pytest.mark.parametrize("thing", sorted(SAID))
def test_a_thing_is_seen_where_it_is_said_and_nowhere_else(library: Library, thing: str) -> None:
    known = vocabulary(library.rules, ZH)[thing]

    said, near = (any(says(one, known) for one in sentences(text)) for text in SAID[thing])

    assert (said, near) == (True, False)


def test_each_character_is_a_word_and_letters_and_figures_stay_together() -> None:
    assert words("请拨打999，text relay。") == ["请", "拨", "打", "999", "text", "relay"]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("请让耳朵保持干燥。", True),
        ("下次来做手术。", True),
        ("请用手按住，技术人员会帮忙。", False),
        ("请按标签说明用药。", False),
    ],
)
def test_a_word_of_several_characters_is_kept_off_a_locked_screen_only_when_they_stand_together(
    text: str, shown: bool, judge: Any, visit: Any
) -> None:
    case = visit(("condition:wax",), language=ZH)
    told = judge(case, _said(judge, text), channel=Channel.SMS)

    assert any("locked screen" in one.why for one in told) is shown


def _said(judge: Any, text: str) -> Any:
    # Loaded by path: the folder of a test is no package.
    return sys.modules[type(judge).__module__].Said(text)


# Chinese leaves out who swims where it is the reader.
LEFT_OUT = {("patient_voice", "water-grommet-ask")}


def test_what_a_sentence_says_to_the_rules_its_translation_says_too(library: Library) -> None:
    english, chinese = (vocabulary(library.rules, one) for one in ("en", ZH))
    unseen = set()
    for context, source, target in _pairs(HOME / "locales/zh/LC_MESSAGES/aftercare.po"):
        for thing in english:
            said = any(says(one, english[thing]) for one in sentences(source))
            told = any(says(one, chinese[thing]) for one in sentences(target))
            if said and not told:
                unseen.add((thing, context))

    assert unseen == LEFT_OUT


def _pairs(path: Path) -> list[tuple[str, str, str]]:
    with path.open("rb") as stream:
        return [
            (str(one.context), str(one.id), str(one.string)) for one in read_po(stream) if one.id
        ]
