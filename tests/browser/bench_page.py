"""The bench on a page of its own, without JupyterLab: the same front end, a desk behind it."""

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from grader.attempt import Attempt
from lessons.workbench.desk import CaseDesk, Desk
from lessons.workbench.front import script, style
from lessons.workbench.panels.diagram import drawing
from lessons.workbench.panels.sheet import sheet_of
from lessons.workbench.papers import paper
from lessons.workbench.pen import Pen
from lessons.workbench.view import view_of
from lessons.workbench.widget import speech
from sim.language import speaking

#: What JupyterLab's two themes set of the variables that the bench takes.
THEMES = {
    "light": {"--jp-layout-color0": "#fff", "--jp-layout-color2": "#eee"},
    "dark": {"--jp-layout-color0": "#111", "--jp-layout-color2": "#424242"},
}
HTML = """<!doctype html><meta charset="utf-8"><style>%(style)s</style>
<body style="margin:8px;background:%(ground)s" data-jp-theme-light="%(light)s"><div id="el"></div>
<script type="module">
const from = URL.createObjectURL(new Blob([window.front], { type: "text/javascript" }));
const bench = (await import(from)).default;
const heard = {};
const tell = window.tell = (event, what) => (heard[event] || []).forEach((one) => one(what));
const model = {
  get: (name) => window.state[name],
  on: (event, listener) => (heard[event] = heard[event] || []).push(listener),
  off: () => {},
  send: async (message) => {
    const { paper, ...state } = await window.kernel(message);
    Object.assign(window.state, state);
    if (paper) tell("msg:custom", { paper, tab: message.tab });
    tell("change:speech");
    tell("change:view");
    tell("change:sheet");
  },
};
bench.render({ model, el: document.getElementById("el") });
window.ready = true;
</script>"""


#: Puts another theme on a page, and has the bench drawn anew.
WEAR = """([variables, ground, light]) => {
  for (const [name, value] of Object.entries(variables))
    document.documentElement.style.setProperty(name, value);
  document.body.style.background = ground;
  document.body.dataset.jpThemeLight = light;
  window.tell("change:speech");
}"""


@lru_cache(maxsize=1)
def sheet_when_closed(attempt: Attempt, _language: str) -> dict[str, Any]:
    """Work out a sheet once: a closed work order changes no more."""
    return sheet_of(attempt)


def show(page: Page, desk: Desk, folder: Path, theme: str = "light", language: str = "en") -> None:
    """Open a desk in a page that has shown none yet."""
    pen = Pen()

    def state(seq: Any = "") -> dict:
        closed = isinstance(desk, CaseDesk) and desk.attempt.progress.closed
        return {
            "view": {**view_of(desk), "pen": pen.view(), "seq": seq},
            "sheet": sheet_when_closed(desk.attempt, language) if closed else {},
            "speech": speech(language),
        }

    def kernel(message: dict) -> dict:
        nonlocal language
        language = message.get("language", language)
        with speaking(language):
            if "language" not in message:
                return answer(message)
            return {**state(message["seq"]), "drawing": drawing(desk.circuit)}

    def answer(message: dict) -> dict:
        if pen.hear(message):
            desk.notice = ""
        elif "save" in message:
            return {**state(message["seq"]), "paper": paper(desk, message["save"])}
        else:
            desk.handle(message)
        return state(message["seq"])

    colours, ground, light = colours_of(theme)
    variables = ";".join(f"{name}:{value}" for name, value in colours.items())
    html = HTML % {"style": f":root{{{variables}}}{style()}", "ground": ground, "light": light}
    file = folder / f"bench-{theme}.html"
    file.write_text(html, encoding="utf-8")
    page.expose_function("kernel", kernel)
    with speaking(language):
        begun = json.dumps({**state(), "drawing": drawing(desk.circuit)})
    page.add_init_script(f"window.front={json.dumps(script())};window.state={begun}")
    page.goto(file.as_uri())
    page.wait_for_function("window.ready")


def colours_of(theme: str) -> tuple[dict[str, str], str, str]:
    """Give a theme's variables, the ground of its page, and whether it is light, as Lab says it."""
    colours = THEMES[theme]
    return colours, colours["--jp-layout-color0"], "true" if theme == "light" else "false"


def wear(page: Page, theme: str) -> None:
    """Put another theme on a page that is shown."""
    page.evaluate(WEAR, colours_of(theme))
