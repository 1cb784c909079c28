"""An attempt at the case of the fogged window, for tests of what is written and taken up again."""

from pathlib import Path

from grader.attempt import Attempt
from grader.draw import Draw
from tests.grader.foggy import ON, VALUES, prepared

HINGE = "C41.1=high resistance:0.8 ohm"
DRAWN = Draw(HINGE, VALUES, "tag")


def attempt(path: Path, student: str = "kim", drawn: Draw = DRAWN) -> Attempt:
    return Attempt(prepared().lineup, drawn, student, path)


def work(one: Attempt) -> None:
    """Do one of everything."""
    one.act({"set": ON})
    one.act({"ask": "Since when?"})
    one.act({"wait": "90 s"})
    one.strike(["K3=coil open", "K3.85=open"], "it clicks")
    one.act({"pull": "F7"})
    one.act({"measure": "volts", "red": "F7.2", "black": "body"})
    one.act({"insert": "F7"})
    one.restore(["K3.85=open"])
    one.act({"measure": "amps", "red": "B1.+", "black": "B1.-"})
    one.note("meter's fuse “gone”")
    one.act({"swap": ["K3", "K5"]})
    one.act({"bridge": ["B1.+", "F9.1b"]})
    one.call("relay K3", "K3=coil open")
    one.act({"unplug": "C41"})


def standing(one: Attempt) -> tuple:
    bench, progress = one.vehicle.bench, one.vehicle.progress
    return (
        bench.situation,
        bench.memory.closed.tolist(),
        bench.memory.blown.tolist(),
        sorted(progress.struck),
        progress.asked,
        progress.calls,
        progress.mended,
        progress.closed,
        one.vehicle.extra_minutes,
    )
