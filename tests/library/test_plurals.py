"""Plural forms of a header, held to CLDR."""

from __future__ import annotations

import gettext
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from babel.messages.plurals import get_plural

from aftercare.library.plurals import plural_fault, plural_forms

LANGUAGES = (
    "cy", "pl", "ro", "es", "pt", "pt_BR", "fr", "de", "ar", "ur", "bn", "pa", "zh_Hans", "tr",
    "fa",
)  # fmt: skip
# CLDR 47, chart "Language Plural Rules", cardinal numbers: which counts are said alike.
ALIKE = {
    "cy": ([0], [1], [2], [3], [6], [4, 5, 7, 100]),
    "pl": ([1], [2, 3, 4, 22, 24], [0, 5, 12, 14, 21, 112]),
    "ro": ([1], [0, 2, 19, 101, 119], [20, 100, 120]),
    "ar": ([0], [1], [2], [3, 10, 103], [11, 99, 111], [100, 102, 200]),
    "bn": ([0, 1], [2, 5, 100]),
    "pa": ([0, 1], [2, 5, 100]),
    "tr": ([1], [0, 2, 5, 100]),
    "fa": ([0, 1], [2, 5, 100]),
    "zh_Hans": ([0, 1, 2, 5, 100],),
}


def index(forms: str, count: int) -> int:
    found = re.fullmatch(r"nplurals=\d+; plural=(.*);", forms)
    assert found
    return gettext.c2py(found[1])(count)


@pytest.mark.parametrize("language", sorted(ALIKE))
def test_counts_that_cldr_says_alike_have_one_form_and_others_another(language: str) -> None:
    told = [{index(plural_forms(language), count) for count in group} for group in ALIKE[language]]

    assert all(len(one) == 1 for one in told)
    assert len(set.union(*told)) == len(told)


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_written_for_a_language_is_right_for_it(language: str) -> None:
    assert plural_fault(language, plural_forms(language)) is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_gnu_gettext_accepts_the_forms(language: str, tmp_path: Path) -> None:
    """An outside judge: msgfmt -c works every rule out for many counts."""
    msgfmt = shutil.which("msgfmt")
    if msgfmt is None:
        pytest.skip("GNU gettext is not installed")
    forms = plural_forms(language)
    many = int(forms.split(";")[0].removeprefix("nplurals="))
    texts = "".join(f'msgstr[{number}] "y {number}"\n' for number in range(many))
    path = tmp_path / "x.po"
    path.write_text(
        'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n'
        f'"Plural-Forms: {forms}\\n"\n\nmsgid "x"\nmsgid_plural "xs"\n{texts}',
        "utf-8",
    )

    judged = subprocess.run(
        [msgfmt, "--check-format", "--check-domain", "-o", "/dev/null", str(path)],
        capture_output=True, text=True,
    )  # fmt: skip

    assert judged.returncode == 0, judged.stderr


@pytest.mark.parametrize("language", ["cy", "bn", "pa", "tr", "fa"])
def test_the_usual_table_is_found_wrong_where_it_is(language: str) -> None:
    # Babel 2.18's gettext table merges Welsh none with many and parts 0 from 1 in Bengali.
    assert plural_fault(language, f"{get_plural(language)};") is not None


@pytest.mark.parametrize(
    ("forms", "said"),
    [
        ("nplurals=2; plural=(n != 1);", "says 2 as it says 0"),
        ("nplurals=4; plural=(n==1?0: n%10>=2 && n%10<5 ?1: n==0?3:2);", "parts 5 from 0"),
        ("nplurals=2; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);",
         "a form there is none of"),
        ("nplurals=3", "is not nplurals=N"),
        ("nplurals=INTEGER; plural=EXPRESSION;", "is not nplurals=N"),
        ("nplurals=3; plural=n%0;", "cannot be worked out"),
        ("nplurals=3; plural=__import__('os');", "cannot be worked out"),
        (f"nplurals=3; plural={'(' * 400}n{')' * 400};", "cannot be worked out"),
        (f"nplurals=3; plural={'n+' * 600}n;", "is not nplurals=N"),
    ],
)  # fmt: skip
def test_a_rule_that_is_not_the_languages_is_told_of(forms: str, said: str) -> None:
    found = plural_fault("pl", forms)

    assert found is not None
    assert said in found
