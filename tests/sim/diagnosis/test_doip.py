"""The vehicle on loopback: doipclient alone and under udsoncan, who is let in, where it listens."""

import socket
from dataclasses import replace

import pytest
import udsoncan.exceptions
from doipclient.connectors import DoIPClientUDSConnector
from doipclient.messages import (
    AliveCheckResponse,
    DiagnosticMessageNegativeAcknowledgement,
    RoutingActivationResponse,
)
from udsoncan.client import Client

from sim.diagnosis.doip import Patience, VehicleOnLoopback
from sim.diagnosis.doipgateway import GATEWAY, MOST_TESTERS, UNKNOWN_UNIT, UNREACHABLE
from sim.diagnosis.doipmessages import HOST, Kind, pack
from sim.diagnosis.sample import brakes_unit, engine_unit, sample_units, silent
from sim.diagnosis.tester import uds_client
from sim.errors import DiagnosisError
from tests.sim.diagnosis.loopback import FAR, LONG, Line, diagnostic, plug_in

# doipclient


def test_doipclient_activates_routing_and_gets_an_answer(vehicle):
    with plug_in(vehicle) as client:
        client.send_diagnostic(bytes.fromhex("0105"))
        assert bytes(client.receive_diagnostic(timeout=LONG)) == bytes.fromhex("410500")


def test_udsoncan_over_doipclient_drives_a_unit(vehicle):
    with uds_client(vehicle.bus, "engine control") as inside:
        config = inside.config
    with plug_in(vehicle) as line, Client(DoIPClientUDSConnector(line), config=config) as client:
        values = client.read_data_by_identifier([0x2001, 0xF405, 0xF190]).service_data.values
        assert values == {0x2001: 80.0, 0xF405: -40.0, 0xF190: "H0SSAMPLE00000047"}
        codes = client.get_dtc_by_status_mask(0x08).service_data.dtcs
        assert [code.id_iso() for code in codes] == ["P0118-17"]
        with pytest.raises(udsoncan.exceptions.NegativeResponseException) as refused:
            client.start_routine(0x0401)
        assert refused.value.response.code == 0x7F
        client.change_session(3)
        client.io_control(0x3002, control_param=3, values=[0])
        client.start_routine(0x0401)
        engine = vehicle.unit("engine control")
        assert engine.commanded() == {"fuel pump relay": 0.0}
        assert engine.running(vehicle.bus.clock) == ("fan stages one after the other",)
        client.clear_dtc(0xFFFFFF)
        assert client.get_dtc_by_status_mask(0x08).service_data.dtcs == []


def test_a_session_runs_out_by_the_clock(vehicle, clock):
    with plug_in(vehicle) as line, Client(DoIPClientUDSConnector(line)) as client:
        client.change_session(3)
        client.start_routine(0x0401)
        clock.now = 6.0
        with pytest.raises(udsoncan.exceptions.NegativeResponseException):
            client.stop_routine(0x0401)


def test_new_values_show_in_the_next_answer(vehicle):
    with plug_in(vehicle, 0x0102) as client:
        vehicle.put(brakes_unit())
        client.send_diagnostic(bytes.fromhex("0142"))
        assert bytes(client.receive_diagnostic(timeout=LONG)) == bytes.fromhex("414236B0")


def test_a_long_answer_arrives_whole(vehicle):
    with plug_in(vehicle) as client:
        client.send_diagnostic(bytes.fromhex("22" + "F190" * 100))
        assert len(client.receive_diagnostic(timeout=LONG)) == 1 + 100 * 19


def test_all_units_are_asked_by_one_address(vehicle):
    with Line(vehicle) as line:
        assert line.activate() == 0x10
        line.send(diagnostic("010D", 0xE000))
        assert line.receive() == (Kind.ACKNOWLEDGED, bytes.fromhex("E0000E0000"))
        assert line.receive() == (Kind.DIAGNOSTIC, bytes.fromhex("01010E00 410D00"))
        assert line.receive() == (Kind.DIAGNOSTIC, bytes.fromhex("01020E00 410D00"))
        line.send(diagnostic("22 2001 2002 F190 F187", 0xE000))
        kind, payload = line.receive()
        assert (kind, payload[4]) == (Kind.NOT_ACKNOWLEDGED, 0x04)


def test_alive_check_status_power_mode_and_identification(vehicle):
    with plug_in(vehicle) as client:
        answer = client.request_alive_check()
        assert isinstance(answer, AliveCheckResponse)
        assert answer.source_address == GATEWAY
        found = client.request_vehicle_identification()
        assert found.vin == "H0SSAMPLE00000047"
        assert found.logical_address == GATEWAY
        assert client.request_vehicle_identification(vin="H0SSAMPLE00000047").vin == found.vin
        status = client.request_entity_status()
        assert (status.max_concurrent_sockets, status.currently_open_sockets) == (4, 1)
        assert client.request_diagnostic_power_mode().diagnostic_power_mode == 1


def test_another_vehicles_identification_is_not_answered(vehicle):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as own:
        own.settimeout(LONG)
        own.sendto(pack(Kind.IDENTIFY_BY_VIN, b"H0SSAMPLE00000099"), (HOST, vehicle.port))
        own.sendto(b"noise", (HOST, vehicle.port))
        own.sendto(b"more noise", (HOST, vehicle.port))
        own.sendto(pack(Kind.POWER_MODE), (HOST, vehicle.port))
        answers = [own.recv(100), own.recv(100)]
    assert answers == [pack(Kind.HEADER_REFUSED, b"\0"), pack(Kind.POWER_MODE_ANSWER, b"\1")]


# Who does not answer


def test_a_unit_without_power_ground_or_bus_is_unreachable_and_the_gateway_says_so(vehicle):
    vehicle.put(silent(engine_unit()))
    with plug_in(vehicle) as client:
        with pytest.raises(OSError, match="negative acknowledge code: 6"):
            client.send_diagnostic(bytes.fromhex("0105"))
        codes = DiagnosticMessageNegativeAcknowledgement.NackCodes
        assert codes.TargetUnreachable == UNREACHABLE
        vehicle.put(engine_unit())
        client.send_diagnostic(bytes.fromhex("0105"))
        assert bytes(client.receive_diagnostic(timeout=LONG)) == bytes.fromhex("410500")


def test_an_address_that_nobody_has_is_said_to_be_unknown(vehicle):
    with plug_in(vehicle, 0x0999) as client:
        with pytest.raises(OSError, match="negative acknowledge code: 3"):
            client.send_diagnostic(bytes.fromhex("0105"))
        codes = DiagnosticMessageNegativeAcknowledgement.NackCodes
        assert codes.UnknownTargetAddress == UNKNOWN_UNIT


# Routing activation


def test_diagnosis_before_activation_ends_the_connection(vehicle):
    with Line(vehicle) as line:
        line.send(diagnostic("0105"))
        assert line.receive() == (Kind.NOT_ACKNOWLEDGED, bytes.fromhex("01010E0002"))
        assert line.receive() is None


def test_diagnosis_under_another_address_ends_the_connection(vehicle):
    with Line(vehicle) as line:
        assert line.activate(0x0E00) == 0x10
        line.send(diagnostic("0105", source=0x0E01))
        assert line.receive() == (Kind.NOT_ACKNOWLEDGED, bytes.fromhex("01010E0102"))
        assert line.receive() is None


def test_activation_is_refused_by_the_codes_doipclient_knows(vehicle):
    codes = RoutingActivationResponse.ResponseCode
    with Line(vehicle) as line:
        assert line.activate(0x0101) == codes.DeniedUnknownSourceAddress
        assert line.receive() is None
    with Line(vehicle) as line:
        line.send(pack(Kind.ACTIVATE, bytes.fromhex("0E00 77 00000000")))
        kind, payload = line.receive()
        assert (kind, payload[4]) == (
            Kind.ACTIVATION,
            codes.DeniedUnsupportedActivationType,
        )
        assert line.receive() is None
    with Line(vehicle) as line:
        assert line.activate(0x0E00) == codes.Success
        assert line.activate(0x0E00) == codes.Success  # the same again is allowed
        assert line.activate(0x0E01) == codes.DeniedSADoesNotMatch
        assert line.receive() is None


def test_a_second_tester_under_its_own_address_works_beside_the_first(vehicle):
    with (
        plug_in(vehicle, client_logical_address=0x0E00) as first,
        plug_in(vehicle, 0x0102, client_logical_address=0x0E01) as second,
    ):
        first.send_diagnostic(bytes.fromhex("0105"))
        second.send_diagnostic(bytes.fromhex("010D"))
        assert bytes(second.receive_diagnostic(timeout=LONG)) == bytes.fromhex("410D00")
        assert bytes(first.receive_diagnostic(timeout=LONG)) == bytes.fromhex("410500")


def test_a_second_tester_under_the_same_address_is_refused_while_the_first_is_there(clock):
    patience = Patience(activation=FAR, message=FAR, alive=FAR)
    with (
        VehicleOnLoopback(sample_units(), 0, clock, patience) as vehicle,
        Line(vehicle) as first,
        Line(vehicle) as second,
    ):
        assert first.activate() == 0x10
        second.send(pack(Kind.ACTIVATE, bytes.fromhex("0E00 00 00000000")))
        assert first.receive() == (Kind.ALIVE_CHECK, b"")
        first.send(pack(Kind.ALIVE, bytes.fromhex("0E00")))
        kind, payload = second.receive()
        codes = RoutingActivationResponse.ResponseCode
        assert (kind, payload[4]) == (
            Kind.ACTIVATION,
            codes.DeniedSARegistered,
        )
        assert second.receive() is None
        first.send(diagnostic("0105"))
        assert first.receive()[0] == Kind.ACKNOWLEDGED


def test_a_first_tester_that_is_gone_gives_way(vehicle):
    with Line(vehicle) as first, Line(vehicle) as second:
        assert first.activate() == 0x10
        assert second.activate() == 0x10  # the first did not say that it is alive
        assert first.receive() == (Kind.ALIVE_CHECK, b"")
        assert first.receive() is None
        second.send(diagnostic("0105"))
        assert second.receive()[0] == Kind.ACKNOWLEDGED


def test_more_testers_than_there_is_room_for_are_refused(vehicle):
    lines = [Line(vehicle) for _tester in range(MOST_TESTERS + 1)]
    try:
        codes = [line.activate(0x0E00 + number) for number, line in enumerate(lines)]
        assert codes == [0x10] * MOST_TESTERS + [0x01]  # all sockets registered and active
        assert lines[-1].receive() is None
    finally:
        for line in lines:
            line.socket.close()


def test_a_tester_that_comes_back_gets_its_own_place_even_where_all_are_taken(vehicle):
    lines = [Line(vehicle) for _tester in range(MOST_TESTERS)]
    try:
        assert [line.activate(0x0E00 + number) for number, line in enumerate(lines)] == (
            [0x10] * MOST_TESTERS
        )
        with Line(vehicle) as again:
            assert again.activate(0x0E01) == 0x10
    finally:
        for line in lines:
            line.socket.close()


# Where it listens


def test_it_listens_on_loopback_only(vehicle):
    ours = socket.create_connection((HOST, vehicle.port), timeout=LONG)
    ours.close()
    with pytest.raises((ConnectionRefusedError, TimeoutError)):
        socket.create_connection(("127.0.0.2", vehicle.port), timeout=1.0)


def test_a_port_that_is_taken_is_said_in_one_line(vehicle):
    with (
        pytest.raises(DiagnosisError, match=rf"port {vehicle.port} on 127\.0\.0\.1: cannot") as e,
        VehicleOnLoopback(sample_units(), vehicle.port),
    ):
        pass
    assert "\n" not in str(e.value)


def test_a_unit_with_the_gateways_address_is_refused():
    with pytest.raises(DiagnosisError, match="got address 0x0100, which is the gateway's"):
        VehicleOnLoopback([replace(engine_unit(), address=GATEWAY)], 0)
