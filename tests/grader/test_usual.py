"""Figures without bands of their own are held against a sound vehicle's."""

import numpy as np
import pytest

from grader.bandwords import band_words
from grader.curves import shares_apart
from grader.told import Told
from grader.usual import Comparison, Usual, facts_of, is_compared
from sim.action import Reading, action_from_json
from sim.display import shown
from sim.language import speaking
from sim.observe import observe
from tests.grader.foggy import ON, Worker, prepared

SCREEN = (
    "A1: warning lamp off; confirmed codes 0; coolant temperature 91 °C; "
    "supply voltage at the unit 14.06 V | A2: no answer from A2"
)


def data(celsius: float, volts: float = 14.06, codes: int = 0) -> Reading:
    return Reading(
        words=f"A1: confirmed codes {codes}; coolant temperature {celsius:g} °C; supply voltage at "
        f"the unit {volts:.3f} V"
    )


def test_a_screen_is_taken_apart_into_words_and_figures():
    facts = facts_of(Reading(words=SCREEN))
    assert facts.words == "A1: warning lamp off; A1: confirmed codes 0; A2: no answer from A2"
    assert facts.figures == {
        "A1: coolant temperature": (91.0, "°C"),
        "A1: supply voltage at the unit": (14.06, "V"),
    }


def test_a_graph_has_a_figure_a_moment_and_a_code_is_none():
    facts = facts_of(Reading(words="A1: 91 °C, 92 °C, 93.5 °C"))
    assert facts.figures == {
        "A1: moment 1": (91.0, "°C"),
        "A1: moment 2": (92.0, "°C"),
        "A1: moment 3": (93.5, "°C"),
    }
    said = "A1: P0117 coolant temperature sensor 1, too low: confirmed, present"
    assert facts_of(Reading(words=said)).figures == {}


def test_figures_of_a_display_are_brought_to_one_unit_and_samples_left_out():
    also = (("A mean", "450.0 mV"), ("A frequency", "1.20 kHz"), ("A samples", "0 1 2"))
    facts = facts_of(Reading(words="screen", also=also))
    assert facts.figures == {"A mean": (0.45, "mV"), "A frequency": (1200.0, "kHz")}


@pytest.mark.parametrize(
    ("low", "high", "bands"),
    [
        (13.9, 14.2, ("as usual",)),
        (12.4, 12.4, ("less than usual",)),
        (15.8, 15.8, ("more than usual",)),
        (12.4, 14.0, ("less than usual", "as usual")),
        (12.4, 16.0, ("less than usual", "as usual", "more than usual")),
    ],
)
def test_usual_is_a_tenth_around_what_sound_vehicles_show(low, high, bands):
    assert Usual.of([(14.0, "V"), (14.2, "V")]).bands(low, high) == bands


def test_last_digits_and_severities_tell_nothing_only_bands_do():
    sound = [data(91), data(92)]
    apart = Comparison.of(
        [data(91, 14.061), data(91, 14.059), data(40), data(38), data(91, codes=1)], 1, sound
    )
    assert apart.split.member.tolist()[0] == apart.split.member.tolist()[1]
    assert apart.split.member.tolist()[2] == apart.split.member.tolist()[3]
    assert len(set(apart.split.member.tolist())) == 3
    labels = apart.split.labels()
    assert labels[0] == "A1: confirmed codes 0"
    assert labels[2] == "A1: confirmed codes 0; A1: coolant temperature less than usual"


def test_a_reading_between_the_corners_belongs_to_its_suspect():
    """Shown at both ends of what varies; a student's value lies in between."""
    apart = Comparison.of([data(91), data(93), data(30), data(95)], 2, [data(91), data(93)])
    assert set(apart.split.member.tolist()) == {0}  # the second may look like the first
    assert apart.label_of(data(60)) == apart.split.labels()[0]
    told = Comparison.of([data(91), data(93), data(30), data(40)], 2, [data(91), data(93)])
    assert told.label_of(data(92)) == told.split.labels()[0]
    assert told.label_of(data(35)) == told.split.labels()[1]
    assert told.label_of(Reading(words="no control unit answers")) is None


def test_what_a_sound_vehicle_does_not_show_counts_by_being_there():
    silent = Reading(words="A1: no answer from A1")
    apart = Comparison.of([data(91), silent], 1, [silent])
    assert len(apart.split.groups) == 2


COMPARED = [
    {"scan": "live data", "unit": "A1"},
    {"scope": {"A": ["C41.1a", "body"]}, "time": "100 ms"},
    {"temperature": "C41"},
    {"measure": "hertz", "red": "F7.2b", "black": "body"},
    {"measure": "duty", "red": "F7.2b", "black": "body"},
    {"measure": "volts", "red": "C41.1a", "black": "body", "while": {"heater switch": "off"}},
]


@pytest.mark.parametrize("do", COMPARED, ids=str)
def test_which_readings_are_held_against_a_sound_vehicle(do):
    assert is_compared(action_from_json(do))
    assert not is_compared(action_from_json({"measure": "volts", "red": "F7.2b", "black": "body"}))


@pytest.mark.parametrize("do", COMPARED[1:3] + COMPARED[5:], ids=str)
def test_every_suspects_own_reading_leads_back_to_it(do):
    """On the shipped case, at every corner: the suspect is in the outcome that it shows."""
    one, action = prepared(), action_from_json(do)
    on = action_from_json({"set": ON})
    seen = []
    for fleet in (one.lineup.fleet, one.healthy):
        ready = observe(fleet, one.start, fleet.fresh_memory(one.start), on)
        seen.append(observe(fleet, ready.situation, ready.memory, action))
    told = Told.by(action, seen[0].situation, seen[0].outcome, seen[1].outcome, one.lineup.corners)
    labels = told.split.labels()
    assert len(set(labels)) > 1
    for lane in range(len(labels) * one.lineup.corners):
        reading = shown(action, seen[0].situation, seen[0].outcome, lane)
        assert told.label_of(reading) == labels[lane // one.lineup.corners]


def test_an_oscilloscope_counts_as_evidence_and_is_no_worse_than_a_meter():
    """A cleverer instrument cannot lose: what its figures rule out is ruled out."""
    by_meter, by_scope = (Worker("C41.1=high resistance:0.8 ohm") for _ in range(2))
    for worker in (by_meter, by_scope):
        worker.confirm()
    by_meter.volts("C41.1a")
    by_scope.do(scope={"A": ["C41.1a", "body"]}, time="100 ms")
    meter, scope = (worker.know().judged[-1].after for worker in (by_meter, by_scope))
    assert scope.bit_count() < prepared().policy().everything.bit_count()
    assert meter & scope


def test_bands_are_said_in_the_readers_language():
    label = "A1: confirmed codes 0; A1: coolant temperature less than usual"
    assert band_words(label, ohms=False) == label
    with speaking("de"):
        assert "Kühlmitteltemperatur weniger als sonst" in band_words(label, ohms=False)
        assert band_words("A mean less than usual", ohms=False) == "A Mittelwert weniger als sonst"
        assert band_words("A1: moment 2 as usual", ohms=False) == "A1: Zeitpunkt 2 wie sonst"


def test_what_is_over_range_on_a_sound_vehicle_too_is_as_usual():
    """Milliamps of a circuit that takes amps: OL on nearly all."""
    over, shown_ = Reading("OL", "mA", "400"), Reading("120.0", "mA", "400")
    apart = Comparison.of([over, shown_], 1, [over])
    assert apart.split.labels() == ("as usual", "less than usual")
    assert apart.label_of(over) == "as usual"
    assert Comparison.of([over, shown_], 1, [shown_]).label_of(over) == "more than usual"


def test_a_number_without_a_unit_is_a_figure_where_it_has_decimals_and_no_count():
    """Or its last digit would prove a severity."""
    facts = facts_of(Reading(words="A1: heat demand 0.53; offset -2.00; confirmed codes 3"))
    assert facts.words == "A1: confirmed codes 3"
    assert facts.figures == {"A1: heat demand": (0.53, ""), "A1: offset": (-2.0, "")}
    graph = facts_of(Reading(words="A1: 0.53, 0.54, 0.55"))
    assert [value for value, _unit in graph.figures.values()] == [0.53, 0.54, 0.55]
    assert graph.words == ""


def curve(counts: np.ndarray) -> Reading:
    text = " ".join(f"{count:.0f}" for count in counts)
    return Reading(words="screen", also=(("A mean", "6.00 V"), ("A samples", text)))


def ramp(kink: float, width: int = 250) -> np.ndarray:
    """Give a current's rise in an injector; where the needle moves it dips for a moment."""
    time = np.linspace(0.0, 1.0, width)
    dip = kink * np.clip(1.0 - np.abs(time - 0.6) / 0.15, 0.0, None)
    return np.round(200.0 * (1.0 - np.exp(-3.0 * time)) / (1.0 - np.exp(-3.0)) - 200.0 * dip)


def test_a_curve_with_the_same_figures_counts_by_its_shape():
    sound, same, stuck = (curve(ramp(kink)) for kink in (0.4, 0.38, 0.0))
    apart = Comparison.of([same, stuck], 1, [sound])
    assert apart.split.labels() == ("as usual", "A curve not as usual")
    assert apart.label_of(stuck) == "A curve not as usual"
    assert apart.label_of(curve(np.roll(ramp(0.4), 3))) == "as usual"  # a little later


def test_a_shape_that_cannot_be_told_at_a_glance_proves_nothing():
    """Between few samples and many the curve may be of either; so it is for all who may show it."""
    sound, nearly, stuck = (curve(ramp(kink)) for kink in (0.4, 0.24, 0.0))
    apart = Comparison.of([sound, stuck], 1, [sound])
    assert apart.label_of(nearly) is None
    either = Comparison.of([sound, nearly, stuck], 1, [sound])
    assert either.split.labels() == ("as usual",) * 3
    assert either.label_of(nearly) == "as usual"


def test_a_flat_line_and_one_that_moves_are_of_two_shapes():
    flat, moving = (curve(counts) for counts in (np.zeros(250), 200.0 * (np.arange(250) % 50 > 25)))
    apart = Comparison.of([flat, moving], 1, [moving])
    assert apart.split.member[0] != apart.split.member[1]
    ends = np.array([np.zeros(250), np.full(250, 200.0)])
    assert shares_apart(ends, ends[:1]).tolist() == [0.0, 1.0]
    assert shares_apart(ends, ends).tolist() == [0.0, 0.0]
