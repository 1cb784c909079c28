"""How far a long piece of work has come is for who waits at a terminal, and for nobody else."""

import io

import pytest

from grader.outcomes import Progress
from lessons.command import main
from lessons.command.counting import ERASE, causes_played, clear, readings_taken


class Terminal(io.StringIO):
    """What is written to a terminal."""

    def isatty(self):
        return True


def test_a_terminal_is_told_and_the_line_is_taken_away_again(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    readings_taken(Progress(200, 1662, ()))
    causes_played("swaps parts", 3, 143)
    clear()
    first, second, last = terminal.getvalue().split(ERASE)[1:]
    assert first == "taking readings on all suspects: 200 of 1662 ..."
    assert second == "playing causes, swaps parts: 3 of 143 ..."
    assert last == ""


def test_a_file_or_a_pipe_gets_the_results_alone(capsys):
    causes_played("swaps parts", 3, 143)
    clear()
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("work", ["prepare", "workers_keep"])
def test_a_check_that_is_stopped_leaves_a_clean_line(work, monkeypatch):
    """Ctrl-C comes while the line is there; a shell leaves with 128 + 2 then."""
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)

    def stopped(*_arguments, tell=None):
        """Write a line and be stopped, as in the midst of the work."""
        if tell is None:
            causes_played("swaps parts", 3, 143)
        else:
            tell(Progress(200, 1662, ()))
        raise KeyboardInterrupt

    monkeypatch.setattr(f"lessons.command.check.{work}", stopped)
    assert main(["check", "foggy-window"]) == 130
    assert " of " in terminal.getvalue()
    assert terminal.getvalue().endswith(ERASE)
