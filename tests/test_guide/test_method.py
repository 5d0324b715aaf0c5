"""The worked examples of the page on method, run in order as one reads them."""

from __future__ import annotations

import doctest

import pytest

from costplan.guide import HERE
from tests.test_guide.walking import blocks

PAGE = (HERE / "method.md").read_text("utf-8")
EXAMPLES = [block.text for block in blocks(PAGE) if block.language == "python"]


def test_every_worked_example_comes_out_as_it_is_printed() -> None:
    told: list[str] = []
    text = "\n".join(EXAMPLES)
    test = doctest.DocTestParser().get_doctest(text, {}, "method.md", str(HERE / "method.md"), 0)
    result = doctest.DocTestRunner(verbose=False).run(test, out=told.append)
    assert result.attempted == text.count(">>> ")
    if result.failed:
        pytest.fail("\n".join(told), pytrace=False)


def test_every_block_of_the_page_is_an_example_and_each_theme_has_one() -> None:
    assert PAGE.count("```") == 2 * len(EXAMPLES)
    themes = PAGE.split("\n## ")[1:]
    without = [theme.splitlines()[0] for theme in themes if "```python" not in theme]
    assert without == ["Choosing parts"]
