"""JupyterLab on a student's folder: started, found again, stopped.

JupyterLab runs as a program of its own, with the Python that runs this one, on 127.0.0.1 only. It
reads its settings from the student's folder and not from the user's, so that somebody's own Jupyter
set-up cannot break a lesson: no news and no updates are asked for (a lesson works offline), the
buttons that nbgrader gives to instructors are off, the theme is JupyterLab's own.
"""

from __future__ import annotations

import json
import os
import secrets
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from http.client import HTTPException
from pathlib import Path
from typing import Self
from urllib.parse import quote

from lessons.benchonly import data_folder, page_of, settings_files
from lessons.errors import ServerError
from lessons.folder import Home

HOST = "127.0.0.1"
STATE_FILE, LOG_FILE = "server.json", "jupyterlab.log"
PATIENCE = 120.0  # seconds; a slow machine needs some 30 for the first start
GRACE = 15.0  # seconds to stop by itself
NBGRADER_PANELS = (
    "assignment-list",
    "course-list",
    "create-assignment",
    "formgrader",
    "menu",
    "validate-assignment",
)
NBGRADER_SERVERS = ("assignment_list", "course_list", "formgrader", "validate_assignment")


@dataclass(frozen=True, slots=True)
class Address:
    """Where a JupyterLab answers: port, and the token that opens it."""

    port: int
    token: str

    def page(self, notebook: str, bench_only: str = "") -> str:
        """Return the address that opens a notebook, given by its path below the folder.

        In JupyterLab, or as benches and text in the theme that `bench_only` names.
        """
        if bench_only:
            place = f"{page_of(notebook, bench_only)}&token={self.token}"
        else:
            place = f"/lab/tree/{quote(notebook)}?token={self.token}"
        return f"http://{HOST}:{self.port}{place}"

    def answers(self) -> bool:
        """Tell whether a server answers here that knows the token."""
        return self._ask("GET", "/api/status")

    def stop(self) -> bool:
        """Ask the server to stop itself and its kernels."""
        return self._ask("POST", "/api/shutdown")

    def _ask(self, method: str, path: str) -> bool:
        request = urllib.request.Request(
            f"http://{HOST}:{self.port}{path}",
            method=method,
            headers={"Authorization": f"token {self.token}"},
        )
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        try:
            with direct.open(request, timeout=5):
                return True
        except (OSError, HTTPException):
            return False


def running(home: Home) -> Address | None:
    """Return the address of a JupyterLab that already serves this folder."""
    try:
        state = json.loads((home.settings / STATE_FILE).read_text(encoding="utf-8"))
        address = Address(int(state["port"]), str(state["token"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return address if address.answers() else None


def write_settings(home: Home) -> Path:
    """Write JupyterLab's settings into the student's folder; return where."""
    folder = home.settings / "jupyter"
    files = {
        "jupyter_server_config.json": {
            "ServerApp": {
                "jpserver_extensions": {
                    f"nbgrader.server_extensions.{name}": False for name in NBGRADER_SERVERS
                }
            },
            "LabApp": {
                "news_url": None,
                "check_for_updates_class": "jupyterlab.NeverCheckForUpdate",
                "extension_manager": "readonly",
            },
        },
        "labconfig/page_config.json": {
            "disabledExtensions": {
                "@jupyterlab/apputils-extension:announcements": True,
                **{f"@jupyter/nbgrader:{name}": True for name in NBGRADER_PANELS},
            }
        },
        "labconfig/default_setting_overrides.json": {
            # a written answer is lost for at most this many seconds
            "@jupyterlab/docmanager-extension:plugin": {"autosaveInterval": 15},
            # benches and opened answers stay as they are when they are scrolled out of sight
            "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
        },
    }
    for name, data in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    for name, text in settings_files().items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    return folder


class Server:
    """A JupyterLab of ours. Use as a context manager: it is stopped on the way out.

    Raises
    ------
    ServerError
        It does not start; the text ends with what it said last.
    """

    def __init__(self, home: Home) -> None:
        self.home = home
        self.address = Address(free_port(), secrets.token_urlsafe(24))
        self.log = home.settings / LOG_FILE
        self._program: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        """Start it, and wait until it answers."""
        settings = write_settings(self.home)
        with self.log.open("wb") as log:
            self._program = subprocess.Popen(  # noqa: S603 -- this very Python
                self._command(),
                cwd=self.home.folder,
                env=self._environment(settings),
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        try:
            self._wait_until_it_answers()
            state = {"port": self.address.port, "token": self.address.token}
            file = self.home.settings / STATE_FILE
            file.write_text(json.dumps(state) + "\n", encoding="utf-8")
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_error: object) -> None:
        """Stop it and its kernels: first by asking, then by force."""
        program = self._program
        if program is None:
            return
        (self.home.settings / STATE_FILE).unlink(missing_ok=True)
        if program.poll() is None:
            self.address.stop()
        try:
            program.wait(GRACE)
        except subprocess.TimeoutExpired:
            program.terminate()
            program.wait(GRACE)
        finally:
            if program.poll() is None:
                program.kill()
                program.wait()

    def wait(self) -> None:
        """Return when it has been stopped from within, by JupyterLab's own menu."""
        # Asked again and again rather than waited for: on Windows Ctrl-C does not end such a wait.
        while self._program is not None and self._program.poll() is None:
            time.sleep(0.3)

    def _command(self) -> list[str]:
        return [
            sys.executable,
            "-m",
            "jupyterlab",
            "--no-browser",
            f"--ServerApp.ip={HOST}",
            f"--ServerApp.port={self.address.port}",
            "--ServerApp.port_retries=0",
            f"--ServerApp.root_dir={self.home.folder}",
            "--ServerApp.answer_yes=True",
            "--ServerApp.allow_root=True",
            "--ServerApp.log_level=WARN",
        ]

    def _environment(self, settings: Path) -> dict[str, str]:
        return {
            **os.environ,
            "JUPYTER_TOKEN": self.address.token,
            "JUPYTER_CONFIG_DIR": str(settings),
            "JUPYTER_CONFIG_PATH": str(settings),
            "JUPYTER_PATH": os.pathsep.join(
                [str(data_folder(settings)), *filter(None, [os.environ.get("JUPYTER_PATH")])]
            ),
            "JUPYTER_PREFER_ENV_PATH": "1",
        }

    def _wait_until_it_answers(self) -> None:
        until = time.monotonic() + PATIENCE
        while not self.address.answers():
            stopped = self._program is None or self._program.poll() is not None
            if stopped or time.monotonic() > until:
                raise ServerError(
                    f"JupyterLab did not start: {last_line(self.log)}; all it said is in {self.log}"
                )
            time.sleep(0.2)


def free_port() -> int:
    """Return a port of this machine that nothing listens on now."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


def last_line(file: Path) -> str:
    """Return the last line of a log that says anything."""
    lines = [line.strip() for line in file.read_text("utf-8", "replace").splitlines()]
    return next((line for line in reversed(lines) if line), "it said nothing")
