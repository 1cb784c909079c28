"""`halfsplit serve-bus`: control units on loopback for a client that is not ours."""

import contextlib
import signal
import socket
import subprocess
import sys
from argparse import ArgumentParser, Namespace

import pytest
from doipclient import DoIPClient

from lessons.command import main
from lessons.command.servebus import add_to, serve
from sim.diagnosis.sample import sample_units

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
    code = "import sys; from lessons.command import main; sys.exit(main(sys.argv[1:]))"
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
