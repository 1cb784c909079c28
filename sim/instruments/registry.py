"""Every instrument on the bench, and every verb: the one list that the rest of the house asks.

An instrument is added here once; its JSON, price, refusals, reading, display, accuracy and cautions
come with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from sim.instruments import (
    bridge,
    clamp,
    conductance,
    ears,
    eyes,
    form,
    hand,
    hands,
    knowngood,
    lamp,
    led,
    load,
    metering,
    nose,
    oscilloscope,
    scanning,
    stress,
    thermometer,
)
from sim.instruments.verb import Instrument, Verb

INSTRUMENTS: tuple[Instrument, ...] = (
    hands.INSTRUMENT,
    metering.INSTRUMENT,
    lamp.INSTRUMENT,
    ears.INSTRUMENT,
    bridge.INSTRUMENT,
    hand.INSTRUMENT,
    eyes.INSTRUMENT,
    clamp.INSTRUMENT,
    led.INSTRUMENT,
    load.INSTRUMENT,
    conductance.INSTRUMENT,
    thermometer.INSTRUMENT,
    nose.INSTRUMENT,
    knowngood.INSTRUMENT,
    oscilloscope.INSTRUMENT,
    stress.INSTRUMENT,
    scanning.INSTRUMENT,
)
VERBS: Mapping[str, Verb] = MappingProxyType(
    {name: verb for instrument in INSTRUMENTS for name, verb in instrument.verbs.items()}
)
#: Verbs whose JSON is the verb and one name.
NAMING = tuple(name for name, verb in VERBS.items() if verb.form is form.NAME)
