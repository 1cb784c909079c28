"""Eyes, ears and hand notice what the solved circuit does, after as long as it takes."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.action import Action
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.effects import load_element, working_power
from sim.errors import ActionError
from sim.faults import parse_faults, possible_faults, with_faults
from sim.network import build_network
from sim.parts import FAMILIES
from sim.solver.steady import Solver
from tests.sim.van import CHAFED, FILE, OFF, ON, Hands, healthy, solver

ORDINARY = "nothing out of the ordinary"


def test_the_window_clears_after_five_minutes_and_not_before():
    hands = Hands()
    hands.do(set=ON)
    hands.do(wait="4 min")
    assert hands.words(watch="rear window clears") == "no"
    hands.do(wait="1 min")
    assert hands.words(watch="rear window clears") == "yes"
    hands.do(set=OFF)
    assert hands.words(watch="rear window clears") == "no"


def test_five_minutes_count_from_the_end_of_what_was_done():
    hands = Hands()
    hands.do(set=ON)
    hands.do(wait="10 min")
    hands.do(unplug="E9")
    hands.do(plug="E9")  # back at the tailgate, and the window was cold meanwhile
    assert hands.bench.situation.rested == 0.0
    assert hands.words(watch="rear window clears") == "no"
    hands.do(wait="5 min")
    assert hands.words(watch="rear window clears") == "yes"


def test_reading_and_looking_do_not_start_the_five_minutes_again():
    hands = Hands()
    hands.do(set=ON)
    hands.do(wait="3 min")
    hands.volts("F7.1b")  # 2.2 min of work go by
    assert hands.words(watch="rear window clears") == "yes"


def test_odd_moments_do_not_shorten_the_five_minutes():
    # sums of tenths of minutes in seconds are not whole in binary
    hands = Hands()
    for seconds in ("0.1 s", "0.7 s", "13.3 s", "1000.1 s", "4097.3 s"):
        hands.do(wait=seconds)
        hands.do(set=OFF)
        hands.do(set=ON)
        hands.do(wait="5 min")
        assert hands.words(watch="rear window clears") == "yes"


@pytest.mark.parametrize(
    ("fault", "felt"),
    [
        ("", "warm"),
        ("C41.1=high resistance:0.8 ohm", "lukewarm"),
        ("C41.1=open", "cold"),
        ("E9=line open:6", "warm, with cold stripes"),
        ("E9=all lines open", "cold"),
    ],
)
def test_a_hand_on_the_glass(fault, felt):
    hands = Hands(fault)
    assert hands.words(feel="E9") == "cold"
    hands.do(set=ON)
    hands.do(wait="1 min")
    assert hands.words(feel="E9") == felt
    hands.do(set=OFF)
    hands.do(wait="2 min")
    assert hands.words(feel="E9") == "cold"


@pytest.mark.parametrize(
    ("fault", "part", "felt"),
    [
        ("C41.1=high resistance:0.8 ohm", "C41", "hot"),
        ("C41.1=high resistance:0.8 ohm", "K3", "not hot"),
        ("K3=contact burnt:0.5 ohm", "K3", "hot"),
        ("F7.2=high resistance:0.4 ohm", "F7", "hot"),
        ("X7=high resistance:0.4 ohm", "X7", "hot"),
        ("C41.1=open", "C41", "not hot"),
        ("", "C41", "not hot"),
        ("", "B1", "not hot"),
    ],
)
def test_a_bad_joint_under_load_is_hot(fault, part, felt):
    hands = Hands(fault)
    hands.do(set=ON)
    hands.do(wait="2 min")
    assert hands.words(feel=part) == felt
    hands.do(set=OFF)
    assert hands.words(feel=part) == felt  # it does not cool at once
    hands.do(wait="5 min")
    assert hands.words(feel=part) == "not hot"


def test_the_relay_clicks_when_it_moves_and_only_then():
    hands = Hands()
    assert hands.words(listen="K3", set={"key": "run"}) == "silent"
    assert hands.words(listen="K3", set={"heater switch": "on"}) == "clicks"
    assert hands.words(listen="K3", set={"heater switch": "on"}) == "silent"
    assert hands.words(listen="K5", set={"heater switch": "off"}) == "silent"
    assert hands.words(listen="K3", set={"heater switch": "on"}) == "clicks"


def test_a_click_is_heard_and_not_watched():
    with pytest.raises(ActionError, match="'relay clicks' is heard, not watched; listen to K3"):
        Hands().do(watch="relay clicks")


def test_every_sign_is_seen_at_its_place_and_nowhere_else():
    """For every fault of the circuit: what its family or the circuit file says can be seen."""
    for faults, _likelihood in possible_faults(healthy()):
        circuit = with_faults(healthy(), faults)
        wanted: dict[str, set[str]] = {place: set() for place in circuit.places}
        for fault in faults:
            part = circuit.parts[fault.part]
            for way in FAMILIES[part.kind].ways(part):
                if (way.name, way.pin) == (fault.way, fault.pin) and way.seen:
                    wanted[part.felt_at or part.at].add(f"{part.name}: {way.seen}")
        for note in circuit.notes:
            if note.faults == faults and note.seen:
                wanted[note.seen_at].add(f"{faults[0].part}: {note.seen}")
        hands = Hands()
        hands.bench = Bench(circuit, solver())
        blown = hands.bench.memory.blown[0] == 1  # a short of what is live with the key off
        for name in np.array(solver().network.fuse_names)[blown]:
            melted = "link" if name.startswith("link") else "strip in the window"
            wanted[circuit.parts[name].at].add(f"{name}: the {melted} is melted through")
        for place, signs in wanted.items():
            shown = hands.words(look=place)
            assert set(shown.split("; ")) == (signs or {ORDINARY})


def test_a_fuse_that_blows_on_the_bench_is_seen_melted():
    hands = Hands(CHAFED)
    assert hands.words(look="fuse panel") == ORDINARY
    hands.do(set=ON)
    assert hands.words(look="fuse panel") == "F7: the strip in the window is melted through"


@pytest.mark.parametrize(("volts", "amps", "watts"), [(6.0, 3.0, 4.5 * 3.0), (6.0, 12.0, 0.0)])
def test_a_motor_puts_to_use_what_its_back_emf_takes(
    volts: float, amps: float, watts: float
) -> None:
    """6.00 V, 3.00 A, 4.50 V of back EMF; 12.0 A at the start (OpenStax College Physics 2e)."""
    wiper = read_circuit(FILE.parent / "rear-wiper.circuit.yaml")
    wiper = wiper.changed("M1", voltage=6.0, current=3.0, **{"stall current": 12.0})
    network = build_network(wiper)
    drop, current = (np.zeros((1, len(network.elements))) for _ in range(2))
    number = load_element(wiper, network, "M1")
    drop[0, number], current[0, number] = volts, amps
    solution = SimpleNamespace(drop=drop, current=current, power=None)
    assert working_power(wiper, network, solution, "M1") == pytest.approx(watts, abs=1e-9)


def test_a_seized_wiper_does_not_run_and_draws_more() -> None:
    wiper = read_circuit(FILE.parent / "rear-wiper.circuit.yaml")
    drawn = {}
    for fault, runs in (("", "yes"), ("M1=seized", "no")):
        broken = with_faults(wiper, parse_faults(wiper, fault)) if fault else wiper
        bench = Bench(broken, Solver.of(wiper))
        bench.do(Action("set", settings=(("key", "run"), ("rear wiper", "on"))))
        watched = bench.do(Action("watch", "rear wiper runs")).reading
        clamped = bench.do(Action("clamp", "wire 8")).reading
        assert watched is not None
        assert watched.words == runs
        assert clamped is not None
        drawn[fault] = float(clamped.value)
    assert drawn["M1=seized"] > 2 * drawn[""]


def test_what_a_circuit_says_of_a_fault_stands_in_place_of_the_usual_sign():
    """A rusty stud is rusty, and not crusted green as well; one the file does not name is."""
    lamps = read_circuit(FILE.parent / "headlamps.circuit.yaml")
    said = {}
    for stud in ("X2", "X1"):
        fault = parse_faults(lamps, f"{stud}=high resistance:0.9 ohm")
        bench = Bench(with_faults(lamps, fault))
        said[stud] = bench.do(Action("look", lamps.parts[stud].at)).reading.words
    assert said["X2"] == "X2: rust swells under the ring"
    assert said["X1"] == "X1: green and white crust under the ring"
