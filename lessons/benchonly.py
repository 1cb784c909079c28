"""A lesson as a page of text and benches: no code, no menus, nothing to run.

Voila (under the BSD licence) runs a notebook of the student's folder and shows what comes of it. It
answers as a guest of the JupyterLab that `lessons.server` starts, behind the same token; a kernel
ends when its page is closed, and the records are on disk by then.

What Voila is told stands in the settings of the student's folder: how a page is framed, and that
`lessons.benchpage` looks through each notebook before it is run. The frame is Voila's own without
what it would load from the network, for a lesson works offline.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

from lessons.errors import ServerError

THEMES = ("light", "dark")
FRAME = "bench"
SETTINGS = """\
# Written by halfsplit at every start.
from lessons.benchpage import configure

configure(get_config())
"""
#: Voila's frame for notebooks, but for two style sheets of icons from the network; text as wide
#: as it reads well, benches as wide as they need.
TEMPLATE = """\
{%- extends 'voila/templates/lab/index.html.j2' -%}
{% import "spinner.macro.html.j2" as spinner %}
{%- block notebook_css -%}
{{ resources.include_js("static/voila-style.js") }}
{{ spinner.css() }}
{{ super.super() }}
<style>
  .jp-mod-noOutputs.jp-mod-noInput { display: none; }
  #rendered_cells > div { max-width: 1320px; margin: 0 auto; }
  #rendered_cells .jp-RenderedMarkdown > * { max-width: 52rem; }
</style>
{%- endblock notebook_css -%}
"""


def require_voila() -> None:
    """Make sure that Voila is there.

    Raises
    ------
    ServerError
        It is not; the text says how to get it.
    """
    if find_spec("voila") is None:
        raise ServerError(
            "--bench-only needs voila, which is not installed; in the checkout: "
            ".venv/bin/pip install -c .constraints.txt -e '.[shop]'"
        )


def page_of(notebook: str, theme: str) -> str:
    """Return where a notebook's page is, below the server's address."""
    return f"/voila/render/{quote(notebook)}?theme={theme}"


def settings_files() -> Mapping[str, str]:
    """Return what Voila reads, by path below the folder of settings."""
    frame = f"{FRAME}/voila/templates/{FRAME}"
    return {
        "voila.py": SETTINGS,
        f"{frame}/conf.json": json.dumps({"base_template": "lab"}) + "\n",
        f"{frame}/index.html.j2": TEMPLATE,
    }


def data_folder(settings: Path) -> Path:
    """Return the folder below the settings in which Jupyter finds our frame."""
    return settings / FRAME
