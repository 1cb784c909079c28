"""Ways in which people work the shipped case.

Each begins in its own manner and, once it has a bad reading or its manner is used up, goes on as
well as can be, so that only the manner is judged.
"""

from tests.grader.foggy import ON, Worker

SUPPLY = 10.5  # V, what a technician takes for the full supply


def click(worker: Worker) -> bool:
    worker.do(set={"key": "run", "heater switch": "off"})
    return worker.do(listen="K3", set={"heater switch": "on"}) == "clicks"


def along(worker: Worker, points: list[str]) -> bool:
    """Measure volts point by point until one is bad; True if none was."""
    worker.do(set=ON)
    return all(worker.volts(point) >= SUPPLY for point in points)


def classic(worker: Worker) -> None:
    """Click, then the load side in order from the fuse: relay output, connector, window."""
    if click(worker):
        along(worker, ["F7.2b", "K3.87", "C41.1b", "E9.1"])


def relay_output(worker: Worker) -> None:
    """Click, fuse, relay output, and the drop across the connector."""
    if click(worker) and along(worker, ["F7.2b", "K3.87"]):
        worker.volts("C41.1a", "C41.1b")


def flexing_connector(worker: Worker) -> None:
    """Straight to the connector that flexes: volts before and behind it."""
    along(worker, ["C41.1b"])


def boot(worker: Worker) -> None:
    """Look into the boot at the hinge first."""
    worker.do(look="tailgate hinge")


def half_split(worker: Worker) -> None:
    """Click, then the middle of the load side, then the middle of what is left."""
    if click(worker) and worker.volts("C41.1a") < SUPPLY:
        worker.volts("K3.30")


def linear(worker: Worker) -> None:
    """In order from the battery."""
    along(
        worker,
        ["B1.+", "30", "F7.1b", "F7.2b", "K3.30", "K3.87", "C41.1a", "C41.1b", "E9.1", "E9.1b"],
    )


def swap_first(worker: Worker) -> None:
    """Exchange the relay with the horn's before anything else."""
    worker.do(swap=["K3", "K5"])
    worker.do(set=ON)
    worker.do(wait="1 min")
    worker.do(feel="E9")
    worker.do(swap=["K3", "K5"])


def grid_first(worker: Worker) -> None:
    """Take the trim off and measure the grid's resistance before anything else."""
    worker.do(set={"key": "off", "heater switch": "off"})
    worker.do(measure="ohms", red="E9.1b", black="E9.2b")


def relay_by_habit(worker: Worker) -> None:
    """Fit a new relay, because it always is the relay."""
    worker.call("relay K3")


def relay_then_fuse(worker: Worker) -> None:
    """Fit a new relay, then a new fuse."""
    if not worker.call("relay K3"):
        worker.call("fuse F7")


def ohms_everywhere(worker: Worker) -> None:
    """Ohms on everything, key off, place by place."""
    worker.do(set={"key": "off", "heater switch": "off"})
    for red, black in (
        ("F7.1b", "F7.2b"),
        ("F12.1b", "F12.2b"),
        ("K3.85", "K3.86"),
        ("K3.30", "K3.87"),
        ("C41.1a", "C41.1b"),
        ("S4.in", "S4.out"),
        ("E9.1", "E9.2"),
        ("E9.2", "X7.ring"),
        ("X7.ring", "body"),
    ):
        worker.do(measure="ohms", red=red, black=black)


PATHS = {
    path.__name__: path
    for path in (
        classic,
        relay_output,
        flexing_connector,
        boot,
        half_split,
        linear,
        swap_first,
        grid_first,
        relay_by_habit,
        relay_then_fuse,
        ohms_everywhere,
    )
}
