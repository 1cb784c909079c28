"""Text with units. Symbols and prefixes: SI Brochure, BIPM, 9th edition, 2019."""

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.errors import QuantityError
from sim.quantity import SYMBOL, UNITS, ZERO_CELSIUS, parse, usual, write
from sim.schema import quantity


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("30 A", "current", 30.0),
        ("150 mA", "current", 0.15),
        ("2.5 mm2", "area", 2.5e-6),
        ("0.75mm²", "area", 0.75e-6),
        ("85 ohm", "resistance", 85.0),
        ("10 Mohm", "resistance", 1e7),
        ("4.7 mΩ", "resistance", 4.7e-3),
        ("70 %", "fraction", 0.7),
        ("0.7", "fraction", 0.7),
        ("70 Ah", "charge", 252_000.0),  # 1 Ah = 3600 C
        ("-18 degC", "temperature", -18.0),
        ("273.15 K", "temperature", 0.0),  # SI Brochure 2.3.1
        ("5 min", "time", 300.0),
        ("1 200 W", "power", 1200.0),
        ("1.2e3 W", "power", 1200.0),
        (".5 V", "voltage", 0.5),
        ("12", "number", 12.0),
        ("0.4 N m", "torque", 0.4),
        ("400mN m", "torque", 0.4),
        ("2 kg m2", "inertia", 2.0),
        ("60 rpm", "rotation", 2 * math.pi),  # one turn a second
        ("1013.25 hPa", "pressure", 101_325.0),  # SI Brochure: 1 bar = 100 kPa
        ("90 deg", "angle", 0.25),
        ("470 uF", "capacitance", 470e-6),
    ],
)
def test_reads(text: str, kind: str, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-15, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("30 V", "current"),
        ("30", "current"),
        ("30 a", "current"),
        ("A", "current"),
        ("", "voltage"),
        ("12 V 5", "voltage"),
        ("1,5 V", "voltage"),
        ("nan V", "voltage"),
        ("inf V", "voltage"),
        ("1e999 V", "voltage"),
        ("0x10 V", "voltage"),
        ("1 0 V", "voltage"),
        ("12 lines", "number"),
        ("30 A x", "current"),
        ("30 A A", "current"),
        ("30 N", "torque"),
        ("30 m N", "torque"),
        ("30 N m m", "torque"),
        ("30 N  m", "torque"),
        ("800 Hz", "rotation"),
        ("3 kPa", "voltage"),
    ],
)
def test_refuses_with_what_would_be_right(text: str, kind: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    message = str(caught.value)
    assert message.startswith(f"{kind}: got ")
    assert "\n" not in message
    assert "expected" in message


@given(st.sampled_from(sorted(SYMBOL)), st.floats(-1e9, 1e9))
def test_what_is_written_reads_back(kind: str, value: float) -> None:
    assert parse(write(value, kind), kind) == pytest.approx(value, rel=1e-5, abs=1e-300)


def test_every_kind_is_kept_in_a_unit_of_its_own() -> None:
    for kind, symbol in SYMBOL.items():
        assert UNITS[kind][symbol] == 1.0


@given(st.sampled_from([(k, u) for k in UNITS for u in UNITS[k]]), st.floats(-1e9, 1e9))
def test_every_unit_of_every_kind_is_read(kind_and_unit: tuple[str, str], value: float) -> None:
    """As written by Python, to the last digit, and no unit of a kind is read as another kind."""
    kind, unit = kind_and_unit
    exact = Fraction(repr(value)) * Fraction(repr(UNITS[kind][unit]))
    expected = float(exact) - (ZERO_CELSIUS if unit == "K" else 0.0)
    assert parse(f"{value!r} {unit}", kind) == expected
    for other in UNITS:
        if unit not in UNITS[other]:
            with pytest.raises(QuantityError):
                parse(f"{value!r} {unit}", other)


@given(
    st.sampled_from(sorted(UNITS)),
    st.from_regex(r"\s?[-+0-9. eE]{0,6} ?[A-Za-z%Ω°µ2/ ]{0,6}\s?", fullmatch=True),
)
def test_an_editor_marks_what_is_refused(kind: str, text: str) -> None:
    """The pattern of the JSON Schema takes a text if, and only if, it is read."""
    try:
        parse(text, kind)
    except QuantityError:
        read = False
    else:
        read = True
    marked = re.search(quantity(kind)["pattern"], text) is None
    assert marked != read


@pytest.mark.parametrize(
    ("text", "kind", "hint"),
    [
        ("30", "current", ", such as 30 A"),
        ("30 a", "current", "; did you mean 'A'?"),
        ("5 mins", "time", "; did you mean 'min'?"),
        ("85 Ohm", "resistance", "; did you mean 'ohm'?"),
        ("85 MOHM", "resistance", "mΩ"),  # milli or mega? rather no hint than a wrong one
        ("30 V", "current", "uA"),
    ],
)
def test_a_near_miss_is_met_with_a_hint(text: str, kind: str, hint: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    assert str(caught.value).endswith(hint)


@given(st.text())
def test_no_text_does_anything_but_read_or_refuse(text: str) -> None:
    try:
        value = parse(text, "voltage")
    except QuantityError:
        return
    assert math.isfinite(value)


@pytest.mark.parametrize("quantity", sorted(set(UNITS) - {"fraction", "number", "temperature"}))
@pytest.mark.parametrize("value", [1e-5, 0.012, 0.4, 1.0, 85.0, 2400.0, 4.7e6])
def test_a_value_as_people_write_it_reads_back(quantity: str, value: float) -> None:
    assert parse(usual(value, quantity), quantity) == pytest.approx(value, rel=1e-3)


def test_values_are_written_as_the_trade_does() -> None:
    written = [
        usual(0.4, "resistance"),
        usual(0.003, "resistance"),
        usual(4700.0, "resistance"),
        usual(252000.0, "charge"),
        usual(0.0, "voltage"),
        usual(0.85, "fraction"),
    ]
    assert written == ["0.4 ohm", "3 mohm", "4.7 kohm", "70 Ah", "0 V", "85 %"]
