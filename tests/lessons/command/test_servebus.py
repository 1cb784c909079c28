"""`halfsplit serve-bus`: control units on loopback for a client that is not ours."""

import contextlib
import signal
import socket
import subprocess
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

import obd
import pytest
from doipclient import DoIPClient
from doipclient.connectors import DoIPClientUDSConnector
from obd.protocols.protocol import Message
from scapy.contrib.automotive.obd.obd import OBD
from udsoncan.client import Client
from udsoncan.configs import default_client_config

from lessons.catalogue import circuit_path
from lessons.command import main
from lessons.command.servebus import add_to, serve, vehicle_of
from sim.diagnosis.sample import sample_units
from sim.served import Served

HOST, LONG = "127.0.0.1", 30.0
ENGINE = 0x0101


def read_coolant(port: int) -> bytes:
    """Ask the engine's unit for its coolant temperature."""
    with DoIPClient(HOST, ENGINE, tcp_port=port, udp_port=port) as client:
        client.send_diagnostic(bytes.fromhex("0105"))
        return bytes(client.receive_diagnostic(timeout=LONG))


def port_in(line: str) -> int:
    """Return the port in "listening on 127.0.0.1:13400 ..."."""
    assert line.startswith(f"listening on {HOST}:")
    return int(line.split(":")[1].split(maxsplit=1)[0])


def parsed(*words: str) -> Namespace:
    parser = ArgumentParser()
    add_to(parser.add_subparsers())
    return parser.parse_args(["serve-bus", *words])


def test_units_answer_while_they_are_served_and_not_after() -> None:
    said: list[str] = []
    answers: list[bytes] = []
    serve(sample_units(), 0, said.append, lambda: answers.append(read_coolant(port_in(said[0]))))
    assert answers == [bytes.fromhex("410500")]
    assert said[1:4] == [
        "  0x0101  engine control: generic and UDS",
        "  0x0102  brakes: generic and UDS",
        "  0x0103  body: UDS",
    ]
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((HOST, port_in(said[0])), timeout=LONG)


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C cannot be sent to one process there")
def test_the_command_serves_until_interrupted() -> None:
    # a test line begun in the background hands on that Ctrl-C is ignored
    listens = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
    code = f"{listens}; import sys; from lessons.command import main; sys.exit(main(sys.argv[1:]))"
    command = [sys.executable, "-u", "-c", code, "serve-bus", "--demo", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        try:
            assert running.stdout is not None
            lines = [running.stdout.readline() for _line in range(5)]
            assert read_coolant(port_in(lines[0])) == bytes.fromhex("410500")
            running.send_signal(signal.SIGINT)
            assert running.wait(LONG) == 0
            assert running.stdout.read() == "stopped\n"
        finally:
            with contextlib.suppress(ProcessLookupError):
                running.kill()


def test_a_case_without_control_unit_is_one_line_and_exit_code_2(capsys) -> None:
    assert main(["serve-bus", "foggy-window"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == (
        "halfsplit serve-bus: case 'foggy-window': its vehicle has no control unit; try --demo, or "
        "a case that has\n"
    )


@pytest.mark.parametrize("words", [(), ("foggy-window", "--demo"), ("--demo", "--port", "70000")])
def test_a_bad_command_line_is_one_line_and_exit_code_2(words, capsys) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["serve-bus", *words])
    assert stopped.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_the_standard_port_is_the_default() -> None:
    assert parsed("--demo").port == 13400
    assert parsed("--demo", "--port", "0").port == 0


# A case: circuit, rules, hidden cause

CASE = """\
format: case
version: 1
id: hot-or-cold
order: "0512"
circuit: fan
complaint: The gauge says warm while the engine is cold.
shows:
  - {set: {ignition: on, coolant: cold 20 degC}, sees: {the gauge lights: yes}}
start: {ignition: on, coolant: cold 20 degC}
confirm: {set: {ignition: on}, sees: {the gauge lights: yes}}
verify:
  - {set: {ignition: on}, do: {watch: the gauge lights}, expect: no}
varies: {B1.charge: [70 %, 95 %]}
rate: 1
dear: 60
units:
  sensor: {mends: [R4=*, R4.1=*, R4.2=*], labour: 5 min, options: {new: {price: 12}}}
  loom: {mends: [wire 7=*, wire 8=*, wire 15=*], labour: 9 min, options: {mend: {price: 3}}}
  unit: {mends: [A3=*, A3.4=*, A3.9=*, A3.10=*, A3.15=*], labour: 9 min, options: {new: {price: 9}}}
assignable: [R4=open]
"""


@pytest.fixture
def case_file(tmp_path: Path) -> Path:
    """Give a case about the fan's vehicle, whose one cause is an open coolant sensor."""
    fan = Path(__file__).parents[2] / "sim/modules/fan.circuit.yaml"
    pin = '        pin: "4"\n'
    text = fan.read_text("utf-8")
    assert text.count(pin) == 1
    (tmp_path / "circuits").mkdir()
    added = f'{pin}        parameter: "05"\n        substitute: 85 degC\n'
    (tmp_path / "circuits/fan.circuit.yaml").write_text(text.replace(pin, added), "utf-8")
    (tmp_path / "lesson").mkdir()
    path = tmp_path / "lesson/hot-or-cold.case.yaml"
    path.write_text(CASE, "utf-8")
    return path


def serving(case: Path, *words: str) -> tuple[list[str], Served]:
    """Give the vehicle that the command line names."""
    vehicle = vehicle_of(parsed(str(case), *words))
    return [unit.name for unit in vehicle.units()], vehicle


def test_a_students_vehicle_has_its_hidden_cause_in_it(case_file: Path) -> None:
    """Driven by udsoncan over doipclient, decoded by python-OBD and scapy: none of them ours."""
    names, vehicle = serving(case_file, "--student", "ada")
    assert names == ["A3"]
    said: list[str] = []
    found: dict[str, object] = {}

    def drive() -> None:
        port = port_in(said[0])
        with DoIPClient(HOST, ENGINE, tcp_port=port, udp_port=port) as doip:
            doip.send_diagnostic(bytes.fromhex("0105"))
            found["generic"] = bytes(doip.receive_diagnostic(timeout=LONG))
            config = default_client_config.copy()
            config["data_identifiers"] = {0x2100: "B", 0x3001: "B"}
            config["input_output"] = {0x3001: "B"}
            config["request_timeout"] = LONG
            with Client(DoIPClientUDSConnector(doip), config=config) as uds:
                codes = uds.get_dtc_by_status_mask(0x08).service_data.dtcs
                found["codes"] = [(one.id, one.status.confirmed) for one in codes]
                found["used"] = uds.read_data_by_identifier(0x2100).service_data.values[0x2100]
                uds.change_session(3)
                uds.io_control(0x3001, control_param=3, values=[255])
                found["held"] = uds.read_data_by_identifier(0x3001).service_data.values[0x3001]

    serve(vehicle.units(), 0, said.append, drive, refresh=vehicle.refresh)
    generic = found["generic"]
    assert isinstance(generic, bytes)
    message = Message([])
    message.data = bytearray(generic)
    assert obd.commands.COOLANT_TEMP.decode([message]).magnitude == -40
    assert OBD(generic).data_records[0].data == -40
    assert found["codes"] == [(0x011817, True)]  # P0118, voltage above limit
    assert found["used"] == (85 + 40,)
    assert found["held"] == (255,)
    assert vehicle.memory.modules is not None


def test_without_a_student_the_vehicle_is_sound_and_controls_can_be_set(case_file: Path) -> None:
    _names, vehicle = serving(case_file, "--set", "coolant=hot 105 degC")
    (unit,) = vehicle.units()
    assert unit.values[0x05] == pytest.approx(105.0, abs=1.0)


def test_a_circuit_file_can_stand_in_place_of_a_case() -> None:
    names, _vehicle = serving(circuit_path("two-wires"), "--set", "key=run")
    assert len(names) == 6


@pytest.mark.parametrize("word", ["key", "key=on", "lid=open"])
def test_a_control_that_is_not_there_is_one_line_and_exit_code_2(word: str, capsys) -> None:
    assert main(["serve-bus", str(circuit_path("two-wires")), "--set", word]) == 2
    shown = capsys.readouterr()
    assert shown.err.count("\n") == 1
    assert "key: off, accessory, run, crank" in shown.err
