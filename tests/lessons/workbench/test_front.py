"""The front end is put together from plain files, whole and without anything from the network."""

import re

import pytest

from lessons.workbench.front import assemble, script, sources, style


def test_modules_come_after_what_they_need_and_give_what_they_export() -> None:
    text = assemble(
        {
            "main.js": 'import { twice } from "./sum.js";\nexport function render() {}\n',
            "sum.js": "export const two = 2;\nexport function twice(n) {\n  return two * n;\n}\n",
        }
    )
    assert text.index("const two = 2") < text.index("const { twice } = module_sum;")
    assert "return { two, twice };" in text
    assert "export default { render: module_main.render };" in text
    assert "import " not in text


def test_a_missing_module_is_named() -> None:
    with pytest.raises(ValueError, match=r"main\.js: imports 'gone\.js'"):
        assemble({"main.js": 'import { a } from "./gone.js";\n'})


def test_a_circle_is_named() -> None:
    circle = {
        "main.js": 'import { a } from "./other.js";\n',
        "other.js": 'import { render } from "./main.js";\n',
    }
    with pytest.raises(ValueError, match="import each other"):
        assemble(circle)


def test_every_panel_is_part_of_the_page() -> None:
    text = script()
    assert [name for name in sources(".js") if f"// {name}\n" not in text] == []


def test_nothing_is_loaded_from_the_network() -> None:
    addresses = set(re.findall(r"\w+://[^\s\"')]*", script() + style()))
    assert addresses <= {"http://www.w3.org/2000/svg"}
    assert "import(" not in script()
    assert "@import" not in style()
    assert "url(" not in style()
