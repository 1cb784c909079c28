"""Text with units. Symbols and prefixes: SI Brochure, BIPM, 9th edition, 2019."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.errors import QuantityError
from sim.quantity import SYMBOL, UNITS, parse, write


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


@given(st.text())
def test_no_text_does_anything_but_read_or_refuse(text: str) -> None:
    try:
        value = parse(text, "voltage")
    except QuantityError:
        return
    assert math.isfinite(value)
