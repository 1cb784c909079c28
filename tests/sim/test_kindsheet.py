"""What an author is told of a kind of part is what the circuit file takes."""

import pytest

from sim.circuitparts import kinds
from sim.errors import CircuitFileError
from sim.kindsheet import TEXTS, example_part, kind_sheet
from sim.parts import FAMILIES
from sim.parts.values import check_values, read_value

KINDS = sorted(kinds())


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_of_every_kind_makes_a_part(kind: str) -> None:
    check_values(example_part(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_writes_all_that_has_to_be_written(kind: str) -> None:
    sheet = kind_sheet(kind)
    needed = {key.name for key in sheet.keys if key.default is None}
    assert needed == {key for key, _text in sheet.example if not key.startswith("pin ")}


@pytest.mark.parametrize("kind", KINDS)
def test_a_default_can_be_written_as_it_is_told(kind: str) -> None:
    parameters = FAMILIES[kind].parameters
    for key in kind_sheet(kind).keys:
        if key.name in parameters and key.default not in {None, "nothing"}:
            one = parameters[key.name]
            if key.default == "ambient":  # that of the vehicle
                assert one.default == "ambient"
                continue
            found = read_value(one, key.name, str(key.default))
            if isinstance(one.default, float):
                assert found == pytest.approx(one.default, rel=1e-3)
            else:
                assert found == one.default


def test_every_key_of_free_text_says_what_it_means() -> None:
    texts = {
        name
        for kind in KINDS
        for name, one in FAMILIES[kind].parameters.items()
        if one.quantity == "text" and not one.words
    }
    assert texts == set(TEXTS)


def test_terminals_of_a_relay_are_those_of_the_standard() -> None:
    """DIN 72552: 85 and 86 coil, 30 contact in, 87 out, 87a the one that opens."""
    terminals = dict(kind_sheet("relay").terminals)
    assert set(terminals[""]) == {"30", "87", "85", "86"}
    assert set(terminals["contact: changeover"]) == {"30", "87", "87a", "85", "86"}


def test_an_unknown_kind_is_answered_with_those_there_are() -> None:
    with pytest.raises(
        CircuitFileError, match=r"'relais'.*kinds are battery.*did you mean 'relay'"
    ):
        kind_sheet("relais")
