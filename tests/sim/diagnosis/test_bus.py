"""Requests and answers as frames: segmentation, addressing, silence, and any frame at all."""

import itertools
from dataclasses import replace

import can
import isotp
import pytest
import udsoncan.exceptions
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.diagnosis.bus import DiagnosticBus, exchange
from sim.diagnosis.nodes import Answer
from sim.diagnosis.sample import (
    body_unit,
    brakes_unit,
    engine_unit,
    sample_units,
    silent,
)
from sim.diagnosis.server import answer
from sim.diagnosis.tester import uds_client
from sim.diagnosis.unit import Session, UnitState
from sim.errors import DiagnosisError

ENGINE = "engine control"


@pytest.fixture
def bus():
    with DiagnosticBus(sample_units()) as found:
        yield found


def sent(bus: DiagnosticBus) -> list[str]:
    """Return all frames so far as "7E8 03410D00CCCCCCCC"."""
    return [f"{frame.identifier:03X} {frame.data.hex().upper()}" for frame in bus.frames]


def with_label(length: int) -> UnitState:
    """Return a unit whose identifier F1A0 has so many bytes, so that the answer has 3 more."""
    return replace(body_unit(), labels={0xF1A0: "x" * length})


# ISO 15765-2


def test_the_identification_takes_a_first_frame_and_two_more(bus):
    # SAE J1979 on CAN: 49 02 01 and 17 characters are 20 bytes
    answers = bus.ask(ENGINE, bytes.fromhex("0902"))
    assert answers == (Answer(ENGINE, bytes.fromhex("490201") + b"H0SSAMPLE00000047"),)
    assert sent(bus) == [
        "7E0 020902CCCCCCCCCC",
        "7E8 1014490201483053",
        "7E0 300000CCCCCCCCCC",
        "7E8 2153414D504C4530",
        "7E8 2230303030303437",
    ]


@pytest.mark.parametrize(
    ("length", "frames"),
    [
        (7, 1),  # a single frame
        (8, 3),  # first frame, flow control, one consecutive frame
        (200, 30),  # 6 bytes and 28 times 7, and flow control
        (4095, 587),
    ],
)
def test_the_number_of_frames_of_one_answer(length, frames):
    with DiagnosticBus([with_label(length - 3)]) as bus:
        (found,) = bus.ask("body", bytes.fromhex("22F1A0"))
        assert len(found.data) == length
        answering = bus.frames[1:]
    assert len(answering) == frames
    if length == 200:
        assert answering[0].data[:2] == bytes.fromhex("10C8")
        assert answering[1].data[:3] == bytes.fromhex("300000")
        assert answering[-1].data[0] == 0x2C
        counts = [frame.data[0] & 0xF for frame in answering[2:]]
        assert counts == [n % 16 for n in range(1, 29)]  # from 1 on, F is followed by 0


def test_a_long_request_is_cut_as_well(bus):
    request = bytes.fromhex("22 2001 2002 F190 F187")
    (found,) = bus.ask(ENGINE, request)
    assert found.data == answer(engine_unit(), request, 0.0)[0]
    assert sent(bus)[:3] == [
        "7E0 10092220012002F1",
        "7E8 300000CCCCCCCCCC",
        "7E0 2190F187CCCCCCCC",
    ]


@settings(max_examples=30)
@given(st.binary(min_size=1, max_size=60))
def test_any_request_gets_over_the_bus_what_the_server_answers(request_):
    units = (engine_unit(), body_unit())
    answers, after, frames = exchange(units, ENGINE, request_, 5.0)
    arrived = 5.0 + sum(frame.seconds for frame in frames if frame.start < 5.0)
    expected, _unit = answer(engine_unit(), request_, arrived)
    assert [one.data for one in answers] == ([] if expected is None else [expected])
    assert after[0] == body_unit()
    assert after[1].memory == answer(engine_unit(), request_, arrived)[1].memory


# Who answers


def test_all_units_that_can_answer_do_lowest_identifier_first(bus):
    answers = bus.ask(None, bytes.fromhex("010D"))
    assert answers == (
        Answer(ENGINE, bytes.fromhex("410D00")),
        Answer("brakes", bytes.fromhex("410D00")),
    )
    assert sent(bus) == ["7DF 02010DCCCCCCCCCC", "7E8 03410D00CCCCCCCC", "7E9 03410D00CCCCCCCC"]


def test_two_long_answers_at_once_do_not_mix():
    named = replace(brakes_unit(), vin="H0SSAMPLE00000048")
    with DiagnosticBus([engine_unit(), named]) as bus:
        answers = bus.ask(None, bytes.fromhex("0902"))
    assert [one.data[3:] for one in answers] == [b"H0SSAMPLE00000047", b"H0SSAMPLE00000048"]


def test_a_unit_without_power_ground_or_bus_does_not_answer(bus):
    bus.put(silent(bus.unit(ENGINE)))
    assert bus.ask(ENGINE, bytes.fromhex("0105")) == ()
    assert bus.ask(ENGINE, bytes.fromhex("22 2001 2002 F190 F187")) == ()
    assert bus.ask(None, bytes.fromhex("010D")) == (Answer("brakes", bytes.fromhex("410D00")),)
    bus.put(replace(bus.unit(ENGINE), reachable=True))
    assert bus.ask(ENGINE, bytes.fromhex("0105")) == (Answer(ENGINE, bytes.fromhex("410500")),)


def test_a_frame_that_reaches_nobody_is_not_acknowledged():
    with DiagnosticBus([silent(engine_unit())]) as bus:
        assert bus.ask(ENGINE, bytes.fromhex("0105")) == ()
        assert [frame.acknowledged for frame in bus.frames] == [False]
    with DiagnosticBus([silent(engine_unit()), brakes_unit()]) as bus:
        bus.ask(ENGINE, bytes.fromhex("0105"))
        assert [frame.acknowledged for frame in bus.frames] == [True]


# Time


def test_frames_follow_each_other_and_answers_come_two_milliseconds_later(bus):
    bus.ask(None, bytes.fromhex("0100"))
    bus.ask(ENGINE, bytes.fromhex("0902"))
    frames = bus.frames
    for before, after in itertools.pairwise(frames):
        assert after.start >= before.start + before.seconds - 1e-12
    request, first, second = frames[:3]
    assert first.start == pytest.approx(request.start + request.seconds + 2e-3)
    assert second.start == pytest.approx(first.start + first.seconds)


def test_the_same_requests_give_the_same_frames_to_the_bit():
    def run() -> list[tuple[float, tuple[int, ...]]]:
        with DiagnosticBus(sample_units(), clock=12.5) as bus:
            for request in ("0100", "03", "0902", "190A"):
                bus.ask(ENGINE, bytes.fromhex(request))
                bus.ask(None, bytes.fromhex(request))
            return [(frame.start, frame.bits()) for frame in bus.frames]

    assert run() == run()


def test_a_session_ends_by_the_benchs_clock(bus):
    bus.ask(ENGINE, bytes.fromhex("1003"))
    bus.ask(ENGINE, bytes.fromhex("2F30020300"))
    assert bus.unit(ENGINE).commanded() == {"fuel pump relay": 0.0}
    bus.clock += 5.0
    (found,) = bus.ask(ENGINE, bytes.fromhex("2F30020300"))
    assert found.data == bytes.fromhex("7F2F7F")
    assert bus.unit(ENGINE).session is Session.DEFAULT


def test_a_bus_that_runs_for_days_remembers_the_last_frames_only():
    with DiagnosticBus(sample_units(), keep=3) as bus:
        for _request in range(5):
            bus.ask(ENGINE, bytes.fromhex("0105"))
        assert len(bus.frames) == 3
        assert bus.frames[-1].start == pytest.approx(bus.clock - bus.frames[-1].seconds)


# Other programs


def test_another_program_of_this_process_joins_by_python_can_and_can_isotp():
    # as ISO 15765-2 is spoken by can-isotp alone, with block size and separation of its own
    address = isotp.Address(isotp.AddressingMode.Normal_11bits, txid=0x7E0, rxid=0x7E8)
    with (
        DiagnosticBus(sample_units(), channel="joined") as bus,
        can.Bus(interface="virtual", channel="joined") as own,
    ):
        stack = isotp.CanStack(own, address=address, params={"blocksize": 2, "stmin": 0})
        stack.send(bytes.fromhex("0902"))
        while not stack.available():
            stack.process()
            bus.poll()
        assert stack.recv() == bytes.fromhex("490201") + b"H0SSAMPLE00000047"
        assert sent(bus)[0].startswith("7E0 020902")
        assert len(bus.frames) == 5


def test_udsoncan_reads_identifiers_codes_and_snapshots(bus):
    with uds_client(bus, ENGINE) as client:
        asked = [0x2001, 0xF405, 0xF190, 0xF187]
        values = client.read_data_by_identifier(asked).service_data.values
        assert values == {
            0x2001: 80.0,
            0xF405: -40.0,
            0xF190: "H0SSAMPLE00000047",
            0xF187: "HS-10-0042",
        }
        codes = client.get_dtc_by_status_mask(0x08).service_data.dtcs
        assert [code.id_iso() for code in codes] == ["P0118-17"]
        assert codes[0].status.get_byte_as_int() == 0xAF
        assert client.get_number_of_dtc_by_status_mask(0x08).service_data.dtc_count == 1
        every = client.get_supported_dtc().service_data.dtcs
        theirs = [(code.id_iso(), code.status.get_byte_as_int()) for code in every]
        assert theirs == [
            (f"{one.code.text}-{one.code.failure_type:02X}", record.status)
            for one, record in engine_unit().memory.entries()
        ]
        stored = client.get_dtc_snapshot_by_dtc_number(0x011817, 1).service_data.dtcs[0]
        frame = {one.did: one.data for one in stored.snapshots}
        assert frame == {0xF404: 0.0, 0xF405: -40.0, 0xF40C: 0.0, 0xF40D: 0.0}
        client.clear_dtc(0xFFFFFF)
        assert client.get_dtc_by_status_mask(0x08).service_data.dtcs == []


def test_udsoncan_holds_an_output_and_runs_a_routine(bus):
    with uds_client(bus, ENGINE) as client:
        with pytest.raises(udsoncan.exceptions.NegativeResponseException) as refused:
            client.io_control(0x3001, control_param=3, values=[0.5])
        assert refused.value.response.code == 0x7F
        client.change_session(3)
        client.io_control(0x3001, control_param=3, values=[0.5])
        assert bus.unit(ENGINE).commanded() == {"cooling fan": pytest.approx(0.5, abs=0.002)}
        client.start_routine(0x0401)
        assert bus.unit(ENGINE).running(bus.clock) == ("fan stages one after the other",)
        assert client.get_routine_result(0x0401).service_data.routine_status_record == b"\x01"
        client.tester_present()
        client.ecu_reset(1)
        assert bus.unit(ENGINE).resets == 1


def test_udsoncan_says_at_once_that_nobody_answers(bus):
    bus.put(silent(bus.unit(ENGINE)))
    with (
        uds_client(bus, ENGINE) as client,
        pytest.raises(udsoncan.exceptions.TimeoutException),
    ):
        client.read_data_by_identifier([0x2001])


# Any frame at all


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.sampled_from([0x7DF, 0x7E0, 0x7E8, 0x123, 0x18DA10F1]), st.binary(max_size=8)),
        max_size=12,
    )
)
def test_whatever_is_put_on_the_bus_the_next_request_is_answered(frames):
    with (
        DiagnosticBus([engine_unit()], channel="noisy") as bus,
        can.Bus(interface="virtual", channel="noisy") as noise,
    ):
        for identifier, data in frames:
            noise.send(
                can.Message(arbitration_id=identifier, data=data, is_extended_id=identifier > 0x7FF)
            )
            bus.poll()
        bus.ask(ENGINE, bytes.fromhex("1001"))  # whoever hung in a transfer hears a new one
        (found,) = bus.ask(ENGINE, bytes.fromhex("0105"))
        assert found.data == bytes.fromhex("410500")


def joined(channel: str) -> can.BusABC:
    return can.Bus(interface="virtual", channel=channel)


def frame(identifier: int, data: str) -> can.Message:
    return can.Message(arbitration_id=identifier, data=bytes.fromhex(data), is_extended_id=False)


def test_a_long_request_to_all_units_is_not_taken_up():
    # ISO 15765-2: functional addressing knows single frames only
    with DiagnosticBus([engine_unit()], channel="to all") as bus, joined("to all") as own:
        own.send(frame(0x7DF, "10 09 22 20 01 20 02 F1"))
        bus.poll()
        assert len(bus.frames) == 1
        own.send(frame(0x7DF, "02 01 05"))
        bus.poll()
        assert sent(bus)[-1] == "7E8 03410500CCCCCCCC"


@pytest.mark.parametrize(
    ("flow", "rest"),
    [
        (["30 00 00"], ["21", "22"]),  # go on
        (["31 00 00", "31 00 00", "30 00 00"], ["21", "22"]),  # wait, wait, go on
        (["30 01 00", "30 01 00"], ["21", "22"]),  # one frame at a time
        (["30 01 00"], ["21"]),
        (["32 00 00", "30 00 00"], []),  # overflow: given up
    ],
)
def test_flow_control_of_the_receiver_is_obeyed(flow, rest):
    # ISO 15765-2: 30 go on, 31 wait, 32 overflow; the second byte is the block size
    with DiagnosticBus([engine_unit()], channel="flow") as bus, joined("flow") as own:
        own.send(frame(0x7E0, "02 09 02"))
        bus.poll()
        for data in flow:
            own.send(frame(0x7E0, data))
            bus.poll()
        from_unit = [one.data for one in bus.frames if one.identifier == 0x7E8]
        assert from_unit[0][:2] == bytes.fromhex("1014")
        assert [data[:1].hex() for data in from_unit[1:]] == rest


def test_a_transfer_broken_by_loss_of_power_is_forgotten():
    with DiagnosticBus([engine_unit()], channel="broken") as bus, joined("broken") as own:
        own.send(frame(0x7E0, "10 09 22 20 01 20 02 F1"))
        bus.poll()
        assert sent(bus)[-1] == "7E8 300000CCCCCCCCCC"
        bus.put(silent(bus.unit(ENGINE)))
        bus.poll()
        bus.put(replace(bus.unit(ENGINE), reachable=True))
        own.send(frame(0x7E0, "21 90 F1 87"))
        bus.poll()
        assert len(bus.frames) == 3


# What is refused


def test_units_that_cannot_be_told_apart_are_refused():
    with pytest.raises(DiagnosisError, match="name engine control is there twice"):
        DiagnosticBus([engine_unit(), replace(brakes_unit(), name=ENGINE)])
    with pytest.raises(DiagnosisError, match="CAN identifier 0x7E0 is there twice"):
        DiagnosticBus([engine_unit(), replace(brakes_unit(), request_id=0x7E0)])
    with pytest.raises(DiagnosisError, match="address 0x0101 is there twice"):
        DiagnosticBus([engine_unit(), replace(brakes_unit(), address=0x0101)])


def test_requests_that_cannot_be_sent_are_refused(bus):
    with pytest.raises(DiagnosisError, match="request to engine control: got 0 bytes"):
        bus.ask(ENGINE, b"")
    with pytest.raises(DiagnosisError, match="got 4096 bytes, expected 1 to 4095"):
        bus.ask(ENGINE, bytes(4096))
    with pytest.raises(DiagnosisError, match="all units: got 8 bytes, expected 1 to 7"):
        bus.ask(None, bytes(8))
    with pytest.raises(DiagnosisError, match="'gearbox': not on this bus; there are body, engine"):
        bus.ask("gearbox", b"\x3e\0")
    with pytest.raises(DiagnosisError, match="brakes: got another request_id"):
        bus.put(replace(brakes_unit(), request_id=0x700))
    assert bus.frames == ()
