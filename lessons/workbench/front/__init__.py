"""The front end: plain ES modules and style sheets, put together without a build step.

Every `.js` file here and in `panels` is a module of its own that a browser could load as it is:
`import { a, b } from "./file.js"` at its top, `export function` or `export const` where something
is for others. A widget takes one module, so `assemble` wraps each file in a function that returns
its exports, in the order of their imports. Nothing is loaded from the network.
"""

from __future__ import annotations

import graphlib
import re
from collections.abc import Mapping
from pathlib import Path

HERE = Path(__file__).parent
FOLDERS = (HERE, HERE.parent / "panels")
MAIN = "main.js"
_IMPORT = re.compile(r'^import \{([^}]*)\} from "\./([\w.-]+)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const) (\w+))", re.MULTILINE)


def script() -> str:
    """Return the whole front end as one ES module with a default export."""
    return assemble(sources(".js"))


def style() -> str:
    """Return all style sheets as one, the base first."""
    sheets = sources(".css")
    first = sheets.pop("base.css")
    return "\n".join([first, *(sheets[name] for name in sorted(sheets))])


def sources(ending: str) -> dict[str, str]:
    """Return the files of the front end with this ending, by name."""
    files = [file for folder in FOLDERS for file in sorted(folder.glob(f"*{ending}"))]
    return {file.name: file.read_text(encoding="utf-8") for file in files}


def assemble(modules: Mapping[str, str]) -> str:
    """Return ES modules as one module that exports what `main.js` exports as `render`.

    Raises
    ------
    ValueError
        A module imports one that is not there, or in a circle.
    """
    needs = {name: {match[2] for match in _IMPORT.finditer(t)} for name, t in modules.items()}
    for name, wanted in needs.items():
        for missing in wanted - modules.keys():
            raise ValueError(f"{name}: imports {missing!r}, which is not there")
    try:
        order = list(graphlib.TopologicalSorter(needs).static_order())
    except graphlib.CycleError as error:
        raise ValueError(f"modules import each other: {' -> '.join(error.args[1])}") from error
    parts = [_wrapped(name, modules[name]) for name in order]
    return "\n".join([*parts, f"export default {{ render: {_variable(MAIN)}.render }};\n"])


def _wrapped(name: str, text: str) -> str:
    exports = _EXPORT.findall(text)
    text = _IMPORT.sub(lambda m: f"const {{{m[1]}}} = {_variable(m[2])};\n", text)
    text = _EXPORT.sub("", text)
    return (
        f"// {name}\nconst {_variable(name)} = (() => {{\n{text}"
        f"return {{ {', '.join(exports)} }};\n}})();"
    )


def _variable(name: str) -> str:
    return "module_" + re.sub(r"\W", "_", name.removesuffix(".js"))
