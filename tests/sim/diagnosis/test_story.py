"""A fault from first appearing to repaired, read from the frames by libraries that are not ours.

python-OBD takes the logged CAN frames apart with its own protocol layer and decodes them; udsoncan
reads the maker's side. Nothing here is decoded by our own code.
"""

from dataclasses import replace

import obd
import pytest
from obd.protocols import ISO_15765_4_11bit_500k

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.codes import TITLES, Code
from sim.diagnosis.memory import FreezeFrame, Memory, Monitor, begin_cycle, observe
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.sample import IDLING, engine_unit
from sim.diagnosis.tester import uds_client

ENGINE = "engine control"
HIGH = Code("P0118", 0x17)
KEY_ON = {"key on"}


class Reader:
    """Asks on the bus and lets python-OBD read the frames that came back."""

    def __init__(self, bus: DiagnosticBus) -> None:
        self._bus = bus
        self._protocol = ISO_15765_4_11bit_500k(["7E8 06 41 00 BE 7F B8 13"])

    def read(self, command):
        """Ask all units and return what python-OBD makes of the engine's answer; None if none."""
        before = len(self._bus.frames)
        self._bus.ask(None, bytes.fromhex(command.command.decode()))
        lines = [
            f"{frame.identifier:03X} {frame.data.hex(' ').upper()}"
            for frame in self._bus.frames[before:]
            if frame.identifier >= 0x7E8
        ]
        messages = self._protocol(lines)
        assert all(message.parsed() for message in messages)
        return command(messages).value if messages else None

    def codes(self, command) -> list[str]:
        """Return the codes of services 03 or 07."""
        return [code.upper() for code, _title in self.read(command) or []]


def test_every_parameter_is_read_from_the_frames_as_the_unit_has_it():
    values = {key: one.scaling.decode(one.scaling.encode(33.0)) for key, one in PARAMETERS.items()}
    with DiagnosticBus([replace(engine_unit(), values=values)]) as bus:
        reader = Reader(bus)
        for identifier, value in values.items():
            read = reader.read(obd.commands[1][identifier])
            if identifier == 0x1C:
                assert read == obd.codes.OBD_COMPLIANCE[33]
                continue
            in_si = read.magnitude * PARAMETERS[identifier].scaling.si
            assert in_si == pytest.approx(value), f"{identifier:02X}"


def test_every_code_of_the_course_is_read_from_the_frames():
    monitors = tuple(Monitor(Code(text)) for text in TITLES)
    failing = {one.code: True for one in monitors}
    memory = observe(Memory.fresh(monitors), failing, (), 1.0, FreezeFrame(0.0, {}))
    with DiagnosticBus([replace(engine_unit(), memory=memory)]) as bus:
        reader = Reader(bus)
        assert reader.codes(obd.commands.GET_DTC) == list(TITLES)
        assert reader.codes(obd.commands.GET_CURRENT_DTC) == list(TITLES)
        with uds_client(bus, ENGINE) as client:
            listed = client.get_dtc_by_status_mask(0x08).service_data.dtcs
            assert [code.id_iso() for code in listed] == [f"{text}-00" for text in TITLES]
        assert reader.read(obd.commands.VIN) == b"H0SSAMPLE00000047"


def test_an_open_sensor_from_the_first_cycle_to_the_check_after_the_repair():
    monitor = Monitor(HIGH, 2.0, 2.0, frozenset(KEY_ON), confirm_cycles=2, lamp=True)
    engine = replace(engine_unit(), memory=Memory.fresh((monitor,)))
    frame = FreezeFrame(0.0, {0x05: -40.0, 0x0C: IDLING[0x0C]})
    with DiagnosticBus([engine]) as bus:
        reader = Reader(bus)

        def judge(seconds: float, *, failing: bool) -> None:
            unit = bus.unit(ENGINE)
            memory = observe(unit.memory, {HIGH: failing}, KEY_ON, seconds, frame)
            bus.put(replace(unit, memory=memory))

        def next_cycle() -> None:
            unit = bus.unit(ENGINE)
            bus.put(replace(unit, memory=begin_cycle(unit.memory)))

        # the first cycle: pending, lamp off
        judge(1.0, failing=True)
        assert reader.codes(obd.commands.GET_CURRENT_DTC) == []
        judge(1.0, failing=True)
        assert reader.codes(obd.commands.GET_CURRENT_DTC) == ["P0118"]
        assert reader.codes(obd.commands.GET_DTC) == []
        assert not reader.read(obd.commands.STATUS).MIL

        # the second: confirmed, lamp on, frame kept; actual value here, substitute there
        next_cycle()
        judge(2.0, failing=True)
        assert reader.codes(obd.commands.GET_DTC) == ["P0118"]
        status = reader.read(obd.commands.STATUS)
        assert (status.MIL, status.DTC_count) == (True, 1)
        assert reader.read(obd.commands.COOLANT_TEMP).magnitude == -40
        with uds_client(bus, ENGINE) as client:
            used = client.read_data_by_identifier([0x2001]).service_data.values[0x2001]
            assert used == 80.0
            stored = client.get_dtc_snapshot_by_dtc_number(0x011817, 1).service_data.dtcs[0]
            assert {one.did: one.data for one in stored.snapshots}[0xF405] == -40.0

            # the fan is tried out
            client.change_session(3)
            client.io_control(0x3001, control_param=3, values=[0.8])
            assert bus.unit(ENGINE).commanded() == {"cooling fan": pytest.approx(0.8)}
            client.io_control(0x3001, control_param=0)
            assert bus.unit(ENGINE).commanded() == {}

        # repaired, cleared, driven, scanned again
        bus.put(replace(bus.unit(ENGINE), values={**IDLING, 0x05: 88.0}))
        bus.ask(None, bytes.fromhex("04"))
        assert reader.codes(obd.commands.GET_DTC) == []
        assert not reader.read(obd.commands.STATUS).COMPONENT_MONITORING.complete
        judge(5.0, failing=False)
        next_cycle()
        judge(5.0, failing=False)
        assert reader.codes(obd.commands.GET_CURRENT_DTC) == []
        status = reader.read(obd.commands.STATUS)
        assert (status.MIL, status.COMPONENT_MONITORING.complete) == (False, True)
        assert reader.read(obd.commands.COOLANT_TEMP).magnitude == 88
