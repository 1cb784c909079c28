"""What a circuit file says of itself, and who names it."""

import re
from pathlib import Path

from lessons.catalogue import circuit_path
from sim.faults import write_faults
from tests.lessons.vehicles import Vehicle


def test_the_file_says_which_lesson_it_is_for(car: Vehicle) -> None:
    head = Path(circuit_path(car.circuit.name)).read_text("utf-8").partition("format:")[0]
    if car.circuit.name != "rear-window-heater":
        assert re.match(r"# Lesson \d\d, ", head)
        assert re.search(r"to break", " ".join(head.split("\n# ")))


def test_the_file_names_what_is_likely_on_this_vehicle(car: Vehicle) -> None:
    assert len({write_faults(car.circuit, note.faults) for note in car.circuit.notes}) >= 8
    for note in car.circuit.notes:
        assert note.cause, note.faults


def test_the_readme_names_every_circuit() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    files = circuit_path("headlamps").parent.glob("*.circuit.yaml")
    names = [path.name.removesuffix(".circuit.yaml") for path in files]
    assert [name for name in names if f"`{name}`" not in readme] == []
