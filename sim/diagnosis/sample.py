"""Three invented control units with values that stand still: to try a scan tool on, and for tests.

The engine's coolant sensor is open: service 01 shows -40 degC, the maker's own data show the
80 degC that the unit uses instead, and P0118 is confirmed.
"""

from __future__ import annotations

from dataclasses import replace

from sim.diagnosis.codes import Code
from sim.diagnosis.memory import FreezeFrame, Memory, Monitor, observe
from sim.diagnosis.parameters import CELSIUS, MILLIVOLT
from sim.diagnosis.scaling import Scaling
from sim.diagnosis.unit import Datum, Output, Routine, UnitState

COOLANT_HIGH = Code("P0118", 0x17)
COOLANT_LOW = Code("P0117", 0x16)
AIR_HIGH = Code("P0113", 0x17)
FAN_OPEN = Code("P0480", 0x13)
SUPPLY_LOW = Code("P0562", 0x16)
BRAKES_SILENT = Code("U0121", 0x87)

DUTY = Scaling(1, 100 / 255, 0.0, "%", 0.01, 1)
SWITCH = Scaling(1)

#: What the engine unit measures: idling, warm but for its sensor; SI.
IDLING = {
    0x04: 0.25,
    0x05: -40.0,
    0x0B: 34e3,
    0x0C: 820 * 0.10471975511965977,
    0x0D: 0.0,
    0x0E: 10 / 360,
    0x0F: 21.0,
    0x10: 3.4e-3,
    0x11: 0.15,
    0x1C: 6.0,
    0x1F: 95.0,
    0x33: 101e3,
    0x42: 14.1,
    0x46: 18.0,
}


def engine_unit() -> UnitState:
    """Return the engine's unit, which has found its coolant sensor open."""
    monitors = (
        Monitor(COOLANT_HIGH, 2.0, 2.0, frozenset({"key on"}), lamp=True),
        Monitor(COOLANT_LOW, 2.0, 2.0, frozenset({"key on"}), lamp=True),
        Monitor(AIR_HIGH, 2.0, 2.0, frozenset({"key on"}), confirm_cycles=2, lamp=True),
        Monitor(FAN_OPEN, 1.0, 1.0, frozenset({"key on", "fan off"})),
        Monitor(SUPPLY_LOW, 5.0, 5.0, frozenset({"engine running"})),
        Monitor(BRAKES_SILENT, 1.0, 1.0, frozenset({"key on"}), emissions=False, group=""),
    )
    results = {monitor.code: monitor.code == COOLANT_HIGH for monitor in monitors}
    frame = FreezeFrame(3.0, {0x04: 0.0, 0x05: -40.0, 0x0C: 0.0, 0x0D: 0.0})
    memory = observe(Memory.fresh(monitors), results, {"key on", "fan off"}, 5.0, frame)
    return UnitState(
        "engine control",
        0x7E0,
        0x7E8,
        0x0101,
        memory,
        values=IDLING,
        data=(
            Datum(0x2001, "coolant temperature, used", CELSIUS, 80.0),
            Datum(0x2002, "coolant sensor signal", MILLIVOLT, 4.98),
        ),
        outputs=(
            Output(0x3001, "cooling fan", DUTY, value=0.0, largest=0.9),
            Output(0x3002, "fuel pump relay", SWITCH, value=1.0, default=0.0),
        ),
        routines=(Routine(0x0401, "fan stages one after the other", 30.0),),
        labels={0xF187: "HS-10-0042"},
        vin="H0SSAMPLE00000047",
        calibration="HS-E1-007",
    )


def brakes_unit() -> UnitState:
    """Return a second unit with generic services, without a code."""
    monitor = Monitor(Code("U0100", 0x87), 1.0, 1.0, frozenset({"key on"}))
    return UnitState(
        "brakes",
        0x7E1,
        0x7E9,
        0x0102,
        Memory.fresh((monitor,)),
        values={0x0D: 0.0, 0x42: 14.0},
    )


def body_unit() -> UnitState:
    """Return a unit that speaks ISO 14229-1 only."""
    return UnitState(
        "body",
        0x726,
        0x72E,
        0x0103,
        generic=False,
        data=(Datum(0x2101, "supply voltage", MILLIVOLT, 14.05),),
    )


def sample_units() -> tuple[UnitState, ...]:
    """Return the three."""
    return engine_unit(), brakes_unit(), body_unit()


def silent(unit: UnitState) -> UnitState:
    """Return a unit without power, ground or bus."""
    return replace(unit, reachable=False)
