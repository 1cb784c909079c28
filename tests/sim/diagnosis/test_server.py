"""Services of ISO 14229-1, byte by byte."""

from dataclasses import replace

import pytest
import udsoncan.services
from scapy.contrib.automotive.uds import UDS
from udsoncan import Response

from sim.diagnosis import refusals
from sim.diagnosis.codes import Code
from sim.diagnosis.memory import (
    FreezeFrame,
    Memory,
    Monitor,
    observe,
)
from sim.diagnosis.sample import body_unit, engine_unit
from sim.diagnosis.server import SERVICES, answer
from sim.diagnosis.status import Status
from sim.diagnosis.stored import FORMAT
from sim.diagnosis.unit import Hold, Session, UnitState, settled

CLOCK = 100.0


def ask(unit: UnitState, *requests: str, clock: float = CLOCK) -> tuple[str | None, UnitState]:
    """Send requests one after the other; return the last answer and the unit then."""
    found: bytes | None = None
    for request in requests:
        found, unit = answer(unit, bytes.fromhex(request), clock)
    return None if found is None else found.hex(" ").upper(), unit


def said(unit: UnitState, *requests: str) -> str | None:
    return ask(unit, *requests)[0]


# Published tables


def test_service_numbers_are_udsoncans():
    theirs = {
        0x10: udsoncan.services.DiagnosticSessionControl,
        0x11: udsoncan.services.ECUReset,
        0x14: udsoncan.services.ClearDiagnosticInformation,
        0x19: udsoncan.services.ReadDTCInformation,
        0x22: udsoncan.services.ReadDataByIdentifier,
        0x2F: udsoncan.services.InputOutputControlByIdentifier,
        0x31: udsoncan.services.RoutineControl,
        0x3E: udsoncan.services.TesterPresent,
    }
    assert {number: one.request_id() for number, one in theirs.items()} == {
        number: number for number in SERVICES
    }
    assert {one.response_id() - one.request_id() for one in theirs.values()} == {0x40}


def test_negative_response_codes_are_udsoncans():
    theirs = Response.Code
    assert refusals.SERVICE_NOT_SUPPORTED == theirs.ServiceNotSupported == 0x11
    assert refusals.SUBFUNCTION_NOT_SUPPORTED == theirs.SubFunctionNotSupported == 0x12
    assert refusals.WRONG_LENGTH == theirs.IncorrectMessageLengthOrInvalidFormat == 0x13
    assert refusals.RESPONSE_TOO_LONG == theirs.ResponseTooLong == 0x14
    assert refusals.CONDITIONS_NOT_CORRECT == theirs.ConditionsNotCorrect == 0x22
    assert refusals.SEQUENCE_ERROR == theirs.RequestSequenceError == 0x24
    assert refusals.OUT_OF_RANGE == theirs.RequestOutOfRange == 0x31
    assert refusals.PENDING == theirs.RequestCorrectlyReceived_ResponsePending == 0x78
    assert (
        refusals.SUBFUNCTION_NOT_IN_SESSION == theirs.SubFunctionNotSupportedInActiveSession == 0x7E
    )
    assert refusals.SERVICE_NOT_IN_SESSION == theirs.ServiceNotSupportedInActiveSession == 0x7F


def test_ways_to_hold_an_output_are_udsoncans():
    theirs = udsoncan.services.InputOutputControlByIdentifier.ControlParam
    assert Hold.UNIT == theirs.returnControlToECU == 0
    assert Hold.DEFAULT == theirs.resetToDefault == 1
    assert Hold.FROZEN == theirs.freezeCurrentState == 2
    assert Hold.ADJUSTED == theirs.shortTermAdjustment == 3


# 59 02 FF 01 17 15 09 -> P0117-15, failed and confirmed: read by udsoncan and scapy


def test_the_published_example_of_reading_codes():
    monitor = Monitor(Code("P0117", 0x15))
    memory = observe(Memory.fresh((monitor,)), {monitor.code: True}, (), 1.0, FreezeFrame(0.0, {}))
    record = replace(memory.records[0], status=Status(0x09))
    unit = replace(body_unit(), memory=replace(memory, records=(record,)))
    found, _after = answer(unit, bytes.fromhex("1902FF"), 0.0)
    assert found == bytes.fromhex("5902FF01171509")
    service = udsoncan.services.ReadDTCInformation
    read = service.interpret_response(Response.from_payload(found), subfunction=2).service_data
    assert [code.id_iso() for code in read.dtcs] == ["P0117-15"]
    assert read.dtcs[0].status.confirmed
    assert read.dtcs[0].status.test_failed
    assert not read.dtcs[0].status.pending
    packet = UDS(found)
    assert packet.DTCAndStatusRecord[0].status == 0x09


# Sessions


def test_the_extended_session_ends_after_five_seconds_without_a_request():
    found, unit = ask(engine_unit(), "10 03")
    assert found == "50 03 00 32 01 F4"
    assert unit.session is Session.EXTENDED
    _found, unit = ask(unit, "2F 30 02 03 00", clock=CLOCK + 4)
    assert unit.commanded() == {"fuel pump relay": 0.0}
    assert settled(unit, CLOCK + 8.9).commanded() == {"fuel pump relay": 0.0}
    ended = settled(unit, CLOCK + 9.0)
    assert ended.session is Session.DEFAULT
    assert ended.commanded() == {}
    found, _unit = ask(unit, "2F 30 02 03 00", clock=CLOCK + 9.0)
    assert found == "7F 2F 7F"


def test_tester_present_keeps_the_session_with_and_without_an_answer():
    _found, unit = ask(engine_unit(), "10 03")
    found, unit = ask(unit, "3E 80", clock=CLOCK + 4)
    assert found is None
    found, unit = ask(unit, "3E 00", clock=CLOCK + 8)
    assert found == "7E 00"
    assert settled(unit, CLOCK + 12).session is Session.EXTENDED


def test_the_default_session_gives_everything_back():
    _found, unit = ask(engine_unit(), "10 03", "2F 30 01 03 80", "31 01 04 01", "10 01")
    assert unit.commanded() == {}
    assert unit.running(CLOCK) == ()
    assert unit.session is Session.DEFAULT


@pytest.mark.parametrize(
    ("request_", "expected"),
    [
        ("10", "7F 10 13"),
        ("10 02", "7F 10 12"),  # no programming session
        ("10 03 00", "7F 10 13"),
        ("11 04", "7F 11 12"),
        ("3E 01", "7F 3E 12"),
        ("3E", "7F 3E 13"),
        ("27 01", "7F 27 11"),  # these units hold no keys
        ("2E 20 01 00", "7F 2E 11"),
        ("85 01", "7F 85 11"),
        ("7F 22 11", "7F 7F 11"),
    ],
)
def test_what_is_not_known_is_refused_by_its_code(request_, expected):
    assert said(engine_unit(), request_) == expected


def test_a_reset_gives_everything_back_and_is_counted():
    found, unit = ask(engine_unit(), "10 03", "2F 30 01 03 80", "11 01")
    assert found == "51 01"
    assert unit.resets == 1
    assert unit.commanded() == {}
    assert ask(unit, "11 83")[1].resets == 2
    assert said(unit, "11 83") is None


# Identifiers


def test_several_identifiers_in_one_request():
    engine = engine_unit()
    assert said(engine, "22 20 01 20 02") == "62 20 01 78 20 02 13 74"
    assert said(engine, "22 20 01 99 99") == "62 20 01 78"
    assert said(engine, "22 99 99") == "7F 22 31"
    assert said(engine, "22 20") == "7F 22 13"
    assert said(engine, "22") == "7F 22 13"
    assert said(engine, "22 F1 90") == "62 F1 90 " + b"H0SSAMPLE00000047".hex(" ").upper()
    assert said(engine, "22 F8 02") == "62 F8 02 " + b"H0SSAMPLE00000047".hex(" ").upper()
    assert said(engine, "22 F1 87") == "62 F1 87 " + b"HS-10-0042".hex(" ").upper()
    assert said(engine, "22 F4 42") == "62 F4 42 37 14"
    assert said(engine, "22 30 02") == "62 30 02 01"


def test_an_answer_too_long_for_one_transfer_is_refused():
    request = "22" + "F190" * 300
    assert said(engine_unit(), request) == "7F 22 14"


def test_a_unit_without_generic_services_has_no_generic_identifiers():
    assert said(body_unit(), "22 F4 42") == "7F 22 31"
    assert said(body_unit(), "22 21 01") == "62 21 01 36 E2"


# Actuator tests: 2F


def test_an_output_is_adjusted_frozen_reset_and_given_back():
    found, unit = ask(engine_unit(), "10 03", "2F 30 01 03 80")
    assert found == "6F 30 01 03 80"
    assert unit.commanded() == {"cooling fan": pytest.approx(0x80 / 255)}
    running = replace(unit, outputs=(replace(unit.outputs[0], value=0.2), *unit.outputs[1:]))
    found, frozen = ask(running, "2F 30 01 02")
    assert found == "6F 30 01 02 33"
    assert frozen.commanded() == {"cooling fan": 0.2}
    found, default = ask(running, "2F 30 01 01")
    assert found == "6F 30 01 01 00"
    assert default.commanded() == {"cooling fan": 0.0}
    found, free = ask(running, "2F 30 01 00")
    assert found == "6F 30 01 00 33"
    assert free.commanded() == {}


@pytest.mark.parametrize(
    ("request_", "expected"),
    [
        ("2F 30 01", "7F 2F 13"),
        ("2F 99 99 03 80", "7F 2F 31"),
        ("2F 20 01 03 80", "7F 2F 31"),  # can be read, not held
        ("2F 30 01 04", "7F 2F 31"),
        ("2F 30 01 03", "7F 2F 13"),
        ("2F 30 01 03 80 80", "7F 2F 13"),
        ("2F 30 01 00 80", "7F 2F 13"),
        ("2F 30 01 03 FF", "7F 2F 31"),  # 100 % where 90 % is the limit
        ("2F 30 01 03 E6", "6F 30 01 03 E6"),  # 90.2 %, the byte nearest to the limit
    ],
)
def test_an_output_is_held_as_the_standard_has_it(request_, expected):
    assert said(engine_unit(), "10 03", request_) == expected


def test_what_is_commanded_never_exceeds_the_limit_by_rounding():
    assert ask(engine_unit(), "10 03", "2F 30 01 03 E6")[1].commanded() == {"cooling fan": 0.9}


def test_an_output_is_not_held_where_the_unit_does_not_permit_it():
    engine = engine_unit()
    outputs = tuple(replace(one, permitted=False) for one in engine.outputs)
    locked = replace(engine, outputs=outputs)
    assert said(locked, "10 03", "2F 30 01 03 10") == "7F 2F 22"
    assert said(locked, "10 03", "2F 30 01 00") == "6F 30 01 00 00"  # giving back always is


# Routines: 31


def test_a_routine_is_started_runs_out_and_tells_its_results():
    found, unit = ask(engine_unit(), "10 03", "31 01 04 01")
    assert found == "71 01 04 01"
    assert unit.running(CLOCK + 29.9) == ("fan stages one after the other",)
    assert unit.running(CLOCK + 30.0) == ()
    routine = replace(unit.routines[0], results=b"\xaa\xbb")
    unit = replace(unit, routines=(routine,))
    assert said(unit, "31 03 04 01") == "71 03 04 01 01 AA BB"
    _found, unit = ask(unit, "10 03", clock=CLOCK + 4.9)
    for second in range(8, 40, 4):
        _found, unit = ask(unit, "3E 80", clock=CLOCK + second)
    assert ask(unit, "31 03 04 01", clock=CLOCK + 40)[0] == "71 03 04 01 02 AA BB"


def test_a_routine_is_stopped():
    found, unit = ask(engine_unit(), "10 03", "31 01 04 01", "31 02 04 01")
    assert found == "71 02 04 01"
    assert unit.running(CLOCK) == ()
    assert said(unit, "31 03 04 01") == "71 03 04 01 03"


@pytest.mark.parametrize(
    ("request_", "expected"),
    [
        ("31 01 04", "7F 31 13"),
        ("31 04 04 01", "7F 31 12"),
        ("31 01 99 99", "7F 31 31"),
        ("31 02 04 01", "7F 31 24"),  # nothing to stop
        ("31 03 04 01", "7F 31 24"),  # never started
        ("31 01 04 01 00", "7F 31 13"),
    ],
)
def test_a_routine_is_refused_as_the_standard_has_it(request_, expected):
    assert said(engine_unit(), "10 03", request_) == expected


def test_a_routine_is_not_started_in_the_default_session_or_where_not_permitted():
    assert said(engine_unit(), "31 01 04 01") == "7F 31 7F"
    engine = engine_unit()
    locked = replace(engine, routines=(replace(engine.routines[0], permitted=False),))
    assert said(locked, "10 03", "31 01 04 01") == "7F 31 22"


# Trouble codes: 14, 19


def test_codes_are_counted_listed_and_cleared():
    engine = engine_unit()
    assert said(engine, "19 01 08") == "59 01 FF 00 00 01"
    assert said(engine, "19 02 08") == "59 02 FF 01 18 17 AF"
    assert said(engine, "19 02 00") == "59 02 FF"
    listed, _unit = answer(engine, bytes.fromhex("190A"), 0.0)
    assert len(listed) == 3 + 4 * len(engine.memory.monitors)
    found, after = ask(engine, "14 FF FF FF")
    assert found == "54"
    assert said(after, "19 02 AF") == "59 02 FF"
    assert said(engine, "14 01 18 17", "19 02 08") == "59 02 FF"
    assert said(engine, "14 01 17 16", "19 02 08") == "59 02 FF 01 18 17 AF"
    assert udsoncan.Dtc.Format.SAE_J2012_DA_DTCFormat_00 == FORMAT


@pytest.mark.parametrize(
    ("request_", "expected"),
    [
        ("14 FF FF", "7F 14 13"),
        ("14 01 19 00", "7F 14 31"),
        ("19", "7F 19 13"),
        ("19 03", "7F 19 12"),
        ("19 02", "7F 19 13"),
        ("19 0A 00", "7F 19 13"),
        ("19 04 01 18 17", "7F 19 13"),
        ("19 04 01 18 17 02", "7F 19 31"),
        ("19 04 09 99 00 01", "7F 19 31"),
        ("19 06 01 18 17 04", "7F 19 31"),
        ("19 82 08", None),  # no positive answer wanted
    ],
)
def test_codes_are_refused_as_the_standard_has_it(request_, expected):
    assert said(engine_unit(), request_) == expected


def test_clearing_is_refused_where_the_unit_does_not_permit_it():
    assert said(replace(engine_unit(), may_clear=False), "14 FF FF FF") == "7F 14 22"


def test_the_emissions_group_leaves_the_makers_own():
    code = Code("U0121", 0x87)
    engine = engine_unit()
    frame = FreezeFrame(0.0, {})
    both = replace(engine, memory=observe(engine.memory, {code: True}, {"key on"}, 9.0, frame))
    assert said(both, "19 01 08") == "59 01 FF 00 00 02"
    assert said(both, "14 FF FF 33", "19 02 08") == "59 02 FF C1 21 87 2F"


def test_a_snapshot_holds_the_freeze_frame_under_standard_identifiers():
    expected = "59 04 01 18 17 AF 01 04 F4 04 00 F4 05 00 F4 0C 00 00 F4 0D 00"
    assert said(engine_unit(), "19 04 01 18 17 01") == expected
    assert said(engine_unit(), "19 04 01 18 17 FF") == expected
    assert said(engine_unit(), "19 04 01 17 16 FF") == "59 04 01 17 16 00"


def test_extended_data_count_occurrences_and_show_the_counter():
    assert said(engine_unit(), "19 06 01 18 17 01") == "59 06 01 18 17 AF 01 01"
    assert said(engine_unit(), "19 06 01 18 17 FF") == "59 06 01 18 17 AF 01 01 02 00 03 7F"
    assert said(engine_unit(), "19 06 01 17 16 03") == "59 06 01 17 16 00 03 80"


# Asked with all others


@pytest.mark.parametrize("request_", ["27 01", "10 02", "22 99 99", "2F 30 01 00", "31 01 04 01"])
def test_a_unit_asked_with_all_others_does_not_say_that_it_cannot(request_):
    found, after = answer(engine_unit(), bytes.fromhex(request_), CLOCK, functional=True)
    assert found is None
    assert after == replace(engine_unit(), last_heard=CLOCK)


@pytest.mark.parametrize("request_", ["22 20", "14 FF"])
def test_a_wrong_length_is_said_all_the_same(request_):
    found, _after = answer(engine_unit(), bytes.fromhex(request_), CLOCK, functional=True)
    assert found == bytes((0x7F, int(request_[:2], 16), 0x13))
