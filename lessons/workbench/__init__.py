"""The bench a student works at in a notebook.

`open_case("foggy-window")` gives a work order, with record and score;
`open_bench("rear-window-heater", fault="F7=open")` a bench to try things at, with neither;
`demonstrate("rear-window-heater", "F7=open", do={"feel": "E9"})` one step: prediction first, then
the reading, with the currents on the diagram.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from grader.attempt import Attempt
from grader.errors import GraderError, RecordError
from lessons.catalogue import circuit_path
from lessons.course import Setup, case_setup
from lessons.errors import LessonError
from lessons.workbench.desk import CaseDesk, TrialDesk
from lessons.workbench.handinbutton import hand_in
from lessons.workbench.showing import ShowDesk
from lessons.workbench.view import message_view
from lessons.workbench.widget import Workbench
from sim.action import Action, action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.errors import LanguageError, SimError
from sim.faults import parse_faults, with_faults
from sim.language import msg, say, speaking, wanted

__all__ = ["Workbench", "demonstrate", "hand_in", "open_bench", "open_case", "open_setup"]


def open_case(
    case: str, folder: Path | None = None, *, predict: bool = False, language: str = ""
) -> Workbench:
    """Return the bench of a work order; what was done before is there again.

    Parameters
    ----------
    case : str
        Id of the case, such as ``foggy-window``.
    folder : Path, optional
        The lesson's folder; the notebook's own if not given.
    predict : bool
        Ask for a prediction before every reading; it is in the record, before the reading.
    language : str
        Code of the language of the bench, such as ``de``; that of HALFSPLIT_LANGUAGE if not given.
    """
    return _made(
        language,
        msg("This work order cannot be opened"),
        lambda: open_setup(case_setup(folder, case), predict=predict),
    )


def _made(language: str, refused: str, make: Callable[[], Workbench]) -> Workbench:
    """Return a bench that speaks a language; where none can be made, one that says why."""
    try:
        code = wanted(language)
    except LanguageError as error:
        return Workbench(None, message_view(say(refused), str(error)))
    with speaking(code):
        try:
            return make()
        except (SimError, GraderError, LessonError) as error:
            return Workbench(None, message_view(say(refused), str(error)))


def open_setup(setup: Setup, *, predict: bool = False) -> Workbench:
    """Return the bench of a work order whose student and draw are known.

    It speaks the language that is spoken now (`sim.language.speaking`).
    """
    older = Workbench.at_work.get(str(setup.record))
    if older is not None:
        older.rest()
    attempt = Attempt(setup.lineup, setup.drawn, setup.student, setup.record)
    try:
        attempt.__enter__()
    except (SimError, GraderError) as error:
        return Workbench(None, refusal(error))
    return Workbench(CaseDesk(attempt, predict=predict))


def refusal(error: Exception) -> dict[str, str]:
    """Return the view for a record that cannot be opened."""
    if isinstance(error, RecordError) and "another window" in str(error):
        return message_view(
            say("This work order is open in another window"),
            say(
                "Only one bench can write its record. Close the other notebook and shut down its "
                "kernel (menu Kernel, Shut Down), then run this cell again. Nothing is lost."
            ),
        )
    return message_view(say("This work order cannot be opened"), str(error))


def open_bench(
    circuit: str,
    fault: str = "",
    settings: Mapping[str, str] | None = None,
    *,
    predict: bool = False,
    language: str = "",
) -> Workbench:
    """Return a demonstration bench, without work order, record and score.

    Parameters
    ----------
    circuit : str
        Id of a circuit, such as ``rear-window-heater``, or a circuit file.
    fault : str
        What is wrong with it, such as ``F7=open``; nothing if empty. It is not shown.
    settings : mapping, optional
        Controls and their positions to start with.
    predict : bool
        Ask for a prediction before every reading, and show both side by side.
    language : str
        As in `open_case`.
    """

    def make() -> Workbench:
        bench, healthy = _bench_of(circuit, fault, settings)
        return Workbench(TrialDesk(bench, healthy, predict=predict))

    return _made(language, msg("This bench cannot be set up"), make)


def _bench_of(
    circuit: str, fault: str, settings: Mapping[str, str] | None
) -> tuple[Bench, Circuit]:
    healthy = read_circuit(circuit_path(circuit))
    faulty = with_faults(healthy, parse_faults(healthy, fault)) if fault else healthy
    bench = Bench(faulty)
    if settings:
        bench.do(Action("set", settings=tuple(settings.items())))
    return bench, healthy


def demonstrate(
    circuit: str,
    fault: str = "",
    settings: Mapping[str, str] | None = None,
    *,
    do: Mapping[str, Any],
    first: Sequence[Mapping[str, Any]] = (),
    ask: str = "",
    language: str = "",
) -> Workbench:
    """Return one step to be predicted, then seen: reading, currents, where the volts go.

    The step is done on this vehicle and on a sound one; both are shown once a prediction has been
    made, and nothing of it before.

    Parameters
    ----------
    circuit, fault, settings
        As in `open_bench`.
    do : mapping
        The step, as it stands in a record, such as
        ``{"measure": "volts", "red": "C41.1a", "black": "C41.1b"}``.
    first : sequence of mappings
        What is done before it, such as ``[{"unplug": "E9"}]``; it is told in the conditions.
    ask : str
        The question; "What will it show?" if empty.
    language : str
        As in `open_case`.
    """

    def make() -> Workbench:
        bench, healthy = _bench_of(circuit, fault, settings)
        sound, _healthy = _bench_of(circuit, "", settings)
        before = [action_from_json(one) for one in first]
        return Workbench(ShowDesk(bench, sound, healthy, before, do, ask))

    return _made(language, msg("This demonstration cannot be set up"), make)
