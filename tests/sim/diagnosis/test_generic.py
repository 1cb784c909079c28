"""Generic services of SAE J1979, read back with python-OBD."""

from dataclasses import replace

import obd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from obd.protocols.protocol import Message

from sim.diagnosis.codes import Code
from sim.diagnosis.generic import bit_map
from sim.diagnosis.memory import FreezeFrame, Memory, Monitor, begin_cycle, observe
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.readiness import monitor_status
from sim.diagnosis.sample import body_unit, brakes_unit, engine_unit, silent
from sim.diagnosis.server import answer
from sim.diagnosis.unit import UnitState

NO_FRAME = FreezeFrame(0.0, {})


def ask(unit: UnitState, request: str, *, functional: bool = False) -> str | None:
    """Return the answer to a request, both written in hexadecimal digits."""
    found, _after = answer(unit, bytes.fromhex(request), 10.0, functional=functional)
    return None if found is None else found.hex(" ").upper()


def by_python_obd(command, data: bytes):
    """Return what python-OBD makes of an answer."""
    message = Message([])
    message.data = bytearray(data)
    return command.decode([message])


def unit(**settings) -> UnitState:
    return UnitState("unit", 0x7E0, 0x7E8, 0x0101, **settings)


def with_codes(*texts: str, confirmed: bool = True, **settings) -> UnitState:
    """Return a unit in which these codes have failed once."""
    cycles = 1 if confirmed else 2
    monitors = tuple(Monitor(Code(text), confirm_cycles=cycles, lamp=True) for text in texts)
    failing = {monitor.code: True for monitor in monitors}
    memory = observe(Memory.fresh(monitors), failing, (), 1.0, NO_FRAME)
    return unit(memory=memory, **settings)


# Published examples, SAE J1979 / ISO 15031-5, worked with python-OBD


@pytest.mark.parametrize(
    ("request_", "value", "expected"),
    [
        ("01 05", 83.0, "41 05 7B"),
        ("01 0C", 1726 * 0.10471975511965977, "41 0C 1A F8"),
        ("01 42", 13.84, "41 42 36 10"),
        ("01 46", 30.0, "41 46 46"),
        ("01 11", 0.50196, "41 11 80"),
    ],
)
def test_published_examples_of_service_01(request_, value, expected):
    identifier = int(request_[-2:], 16)
    assert ask(unit(values={identifier: value}), request_) == expected


def test_the_published_monitor_status():
    # 41 01 83 07 65 00: lamp on, three codes, spark ignition, all complete
    groups = ["misfire", "fuel system", "components"]
    groups += ["catalyst", "evaporation", "oxygen sensor", "oxygen sensor heater"]
    monitors = [
        Monitor(Code(f"P00{number:02}"), group=group, lamp=True)
        for number, group in enumerate(groups)
    ]
    failing = {monitor.code: number < 3 for number, monitor in enumerate(monitors)}
    memory = observe(Memory.fresh(tuple(monitors)), failing, (), 1.0, NO_FRAME)
    assert ask(unit(memory=memory), "01 01") == "41 01 83 07 65 00"
    read = by_python_obd(obd.commands.STATUS, bytes.fromhex("4101") + monitor_status(memory))
    assert (read.MIL, read.DTC_count, read.ignition_type) == (True, 3, "spark")
    assert read.CATALYST_MONITORING.available
    assert read.CATALYST_MONITORING.complete
    assert not read.EGR_VVT_SYSTEM_MONITORING.available


def test_monitors_that_have_not_run_are_read_as_incomplete():
    monitors = (Monitor(Code("P0117")), Monitor(Code("P0420"), group="catalyst"))
    fresh = Memory.fresh(monitors)
    read = by_python_obd(obd.commands.STATUS, bytes.fromhex("4101") + monitor_status(fresh))
    assert (read.MIL, read.DTC_count) == (False, 0)
    for test in (read.COMPONENT_MONITORING, read.CATALYST_MONITORING):
        assert (test.available, test.complete) == (True, False)


def test_codes_with_their_number_in_front():
    some = with_codes("P0117", "P0133", "C0123", "B1234", "U0100", "U1100", "P243F")
    assert ask(some, "03") == "43 07 01 17 01 33 41 23 92 34 C1 00 D1 00 24 3F"
    assert ask(some, "07") == ask(some, "03").replace("43", "47", 1)
    assert ask(unit(), "03") == "43 00"


@given(st.sets(st.integers(1, 0xFFFF), max_size=120))
def test_any_codes_are_read_by_python_obd(numbers):
    texts = [f"{'PCBU'[one >> 14]}{one >> 12 & 3}{one & 0xFFF:03X}" for one in sorted(numbers)]
    found, _after = answer(with_codes(*texts), b"\x03", 0.0)
    # its decoder wants service and number cut off, as its own CAN layer does
    read = by_python_obd(obd.commands.GET_DTC, found)
    assert [code.upper() for code, _title in read] == texts


def test_a_code_that_failed_in_one_cycle_is_pending_and_not_confirmed():
    first = with_codes("P0113", confirmed=False)
    assert ask(first, "03") == "43 00"
    assert ask(first, "07") == "47 01 01 13"


# Service 01


def test_every_parameter_is_read_by_python_obd_as_the_value_that_the_unit_has():
    values = {key: one.scaling.decode(one.scaling.encode(17.0)) for key, one in PARAMETERS.items()}
    unit_ = unit(values=values)
    for identifier, value in values.items():
        found, _after = answer(unit_, bytes((1, identifier)), 0.0)
        theirs = by_python_obd(obd.commands[1][identifier], found)
        if identifier == 0x1C:
            assert theirs == obd.codes.OBD_COMPLIANCE[17]
            continue
        assert theirs.magnitude * PARAMETERS[identifier].scaling.si == pytest.approx(value)


def test_up_to_six_parameters_in_one_request_and_unknown_ones_left_out():
    engine = engine_unit()
    assert ask(engine, "01 05 0D 99 42") == "41 05 00 0D 00 42 37 14"
    assert ask(engine, "01 05 05 05 05 05 05") == "41" + " 05 00" * 6
    assert ask(engine, "01 05 05 05 05 05 05 05") == "7F 01 12"
    assert ask(engine, "01") == "7F 01 12"


def test_the_bit_maps_tell_python_obd_what_there_is():
    engine = engine_unit()
    told = set()
    for start in (0x00, 0x20, 0x40):
        found, _after = answer(engine, bytes((1, start)), 0.0)
        bits = by_python_obd(obd.commands[1][start], found)
        told |= {start + 1 + offset for offset, bit in enumerate(bits) if bit}
    assert told == engine.values.keys() | {0x01, 0x20, 0x40}
    assert ask(engine, "01 60") == "7F 01 12"


def test_a_bit_map_leads_on_over_an_empty_one():
    assert bit_map({0x05, 0x46}, 0x00) == bytes.fromhex("08000001")
    assert bit_map({0x05, 0x46}, 0x20) == bytes.fromhex("00000001")
    assert bit_map({0x05, 0x46}, 0x40) == bytes.fromhex("04000000")


def test_service_01_shows_what_is_measured_and_the_makers_data_the_substitute():
    engine = engine_unit()
    assert ask(engine, "01 05") == "41 05 00"  # -40 degC
    assert ask(engine, "22 F4 05") == "62 F4 05 00"
    assert ask(engine, "22 20 01") == "62 20 01 78"  # 80 degC


# Service 02


def test_the_freeze_frame_and_the_code_that_froze_it():
    engine = engine_unit()
    assert ask(engine, "02 02 00") == "42 02 00 01 18"
    assert ask(engine, "02 05 00") == "42 05 00 00"
    assert ask(engine, "02 05 00 0C 00 0D 00") == "42 05 00 00 0C 00 00 00 0D 00 00"
    assert ask(engine, "02 00 00") == "42 00 00 58 18 00 00"
    assert ask(engine, "02 05 01") == "7F 02 12"  # only frame 00 is kept
    assert ask(engine, "02 0F 00") == "7F 02 12"  # not in the frame
    assert ask(engine, "02 05") == "7F 02 12"


def test_without_a_frame_the_code_is_zero():
    assert ask(brakes_unit(), "02 02 00") == "42 02 00 00 00"
    assert ask(brakes_unit(), "02 05 00") == "7F 02 12"


def test_the_freezing_code_is_read_by_python_obd():
    found, _after = answer(engine_unit(), bytes.fromhex("020200"), 0.0)
    code, _title = by_python_obd(obd.commands.DTC_FREEZE_DTC, found[:2] + found[3:])
    assert code == "P0118"


# Service 04


def test_clearing_takes_codes_frame_and_readiness_but_not_the_makers_own():
    maker = Code("U0121", 0x87)
    failing = {maker: True}
    before = engine_unit()
    before = replace(before, memory=observe(before.memory, failing, {"key on"}, 9.0, NO_FRAME))
    found, after = answer(before, b"\x04", 0.0)
    assert found == b"\x44"
    assert (ask(after, "03"), ask(after, "07")) == ("43 00", "47 00")
    assert ask(after, "02 02 00") == "42 02 00 00 00"
    assert ask(after, "01 01") == "41 01 00 44 00 00"
    assert after.memory.record(maker) == before.memory.record(maker)


def test_a_unit_may_refuse_to_clear():
    found, after = answer(replace(engine_unit(), may_clear=False), b"\x04", 0.0)
    assert found == bytes.fromhex("7F0422")
    assert ask(after, "03") == "43 01 01 18"


def test_a_cleared_fault_that_is_still_there_comes_back():
    _found, cleared = answer(engine_unit(), b"\x04", 0.0)
    again = observe(cleared.memory, {Code("P0118", 0x17): True}, {"key on"}, 2.0, NO_FRAME)
    assert ask(replace(cleared, memory=begin_cycle(again)), "03") == "43 01 01 18"


# Service 09


def test_the_identification_is_twenty_bytes():
    found, _after = answer(engine_unit(), bytes.fromhex("0902"), 0.0)
    assert len(found) == 20
    assert found == bytes.fromhex("490201") + b"H0SSAMPLE00000047"
    assert by_python_obd(obd.commands.VIN, found) == b"H0SSAMPLE00000047"


def test_calibration_name_and_what_there_is():
    engine = engine_unit()
    found, _after = answer(engine, bytes.fromhex("0904"), 0.0)
    assert found == bytes.fromhex("490401") + b"HS-E1-007" + bytes(7)
    assert by_python_obd(obd.commands.CALIBRATION_ID, found) == b"HS-E1-007"
    found, _after = answer(engine, bytes.fromhex("090A"), 0.0)
    assert found == bytes.fromhex("490A01") + b"engine control" + bytes(6)
    assert ask(engine, "09 00") == "49 00 50 40 00 00"
    assert ask(brakes_unit(), "09 02") == "7F 09 12"
    assert ask(brakes_unit(), "09") == "7F 09 12"


# Who answers


def test_a_unit_without_the_parameter_keeps_silent_when_all_are_asked():
    assert ask(brakes_unit(), "01 05", functional=True) is None
    assert ask(brakes_unit(), "01 0D", functional=True) == "41 0D 00"
    assert ask(body_unit(), "01 0D", functional=True) is None
    assert ask(body_unit(), "01 0D") == "7F 01 11"


def test_a_unit_without_power_ground_or_bus_does_not_answer():
    dead = silent(engine_unit())
    for request in ("01 05", "03", "04", "3E 00", "FF"):
        found, after = answer(dead, bytes.fromhex(request), 0.0)
        assert found is None
        assert after == dead
