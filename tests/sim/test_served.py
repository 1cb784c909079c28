"""A vehicle solved anew before each request: as on the bench, by the testers' clock."""

from sim.diagnosis.bus import DiagnosticBus
from sim.faults import parse_faults, with_faults
from sim.presence import at_gateway, at_socket
from sim.served import Served
from sim.situation import Situation
from tests.sim.bus.conftest import broken, two_wires

RUN = Situation(controls=(("key", "run"),))


def test_a_tester_on_the_network_comes_in_at_the_gateway() -> None:
    assert at_gateway(two_wires()).parts == ("A3",)
    assert at_socket(two_wires()).parts == ("X9",)


def test_a_broken_socket_is_no_matter_behind_the_gateway() -> None:
    vehicle = Served.of(broken("X9.6=open"), RUN)
    assert [unit.name[:2] for unit in vehicle.units() if unit.reachable] == [
        f"A{n}" for n in range(1, 7)
    ]


def test_what_the_gateway_does_not_hear_is_not_reached() -> None:
    there = [u.name[:2] for u in Served.of(broken("A5=stuck dominant"), RUN).units() if u.reachable]
    assert there == ["A1", "A2", "A3"]
    there = [u.name[:2] for u in Served.of(broken("A3=dead"), RUN).units() if u.reachable]
    assert there == []


def test_its_time_is_the_testers_from_the_first_request_on() -> None:
    vehicle = Served.of(two_wires(), RUN)
    with DiagnosticBus(vehicle.units(), 5000.0) as bus:
        vehicle.refresh(bus, 5000.0)
        vehicle.refresh(bus, 5030.0)
    assert vehicle.situation.clock == 30.0


def test_codes_come_back_by_themselves_after_they_were_cleared() -> None:
    fault = parse_faults(two_wires(), "F3=open")
    vehicle = Served.of(with_faults(two_wires(), fault), RUN)
    with DiagnosticBus(vehicle.units()) as bus:
        vehicle.refresh(bus, 0.0)
        bus.ask("A4 dash", bytes.fromhex("14FFFFFF"))
        (empty,) = bus.ask("A4 dash", bytes.fromhex("190208"))
        vehicle.refresh(bus, 1.0)  # missed for less than two seconds
        (early,) = bus.ask("A4 dash", bytes.fromhex("190208"))
        vehicle.refresh(bus, 4.0)
        (again,) = bus.ask("A4 dash", bytes.fromhex("190208"))
    assert empty.data == early.data == bytes.fromhex("5902FF")
    assert again.data[3:6] == bytes.fromhex("C12187")  # U0121-87
