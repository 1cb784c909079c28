"""Selector switch: one input, several outputs, each live in its own positions of a control.

`closed in` names the positions of each output, outputs separated by ``|`` and several positions of
one output by ``+``: ``low|medium|low+medium+high`` makes output 3 live in all three. Left out,
output k is live in the k-th position after the resting one.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import Element, Family, Parameter, Way, joint, joint_ways
from sim.parts.switch import contact, contact_ways


def _outputs(part: Part) -> tuple[str, ...]:
    return tuple(str(number + 1) for number in range(int(part.number("outputs"))))


def closed_positions(part: Part) -> tuple[tuple[str, ...], ...]:
    """Return for every output the positions of the control in which it is live.

    Raises
    ------
    QuantityError
        `closed in` is for another number of outputs, or there are too few positions.
    """
    outputs, written = _outputs(part), str(part.values["closed in"])
    if written:
        found = tuple(
            tuple(word.strip() for word in output.split("+")) for output in written.split("|")
        )
    else:
        positions = part.settings[1:] or outputs
        found = tuple((position,) for position in positions[: len(outputs)])
    if len(found) != len(outputs):
        raise QuantityError(
            f"{part.name}: 'closed in' must say for each of {len(outputs)} outputs in which "
            f"positions it is live, separated by |; got {len(found)}"
        )
    return found


def _pins(part: Part) -> tuple[str, ...]:
    return ("in", *_outputs(part))


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    elements = [joint(part, "in")]
    for pin, positions in zip(_outputs(part), closed_positions(part), strict=True):
        elements += contact(part, f"{name}.inb", f"{name}.{pin}b", positions, pin, pin=pin)
        elements.append(joint(part, pin))
    return tuple(elements)


def _ways(part: Part) -> tuple[Way, ...]:
    ways = [Way("contact open", None, (), 0.3), *joint_ways("in", likelihood=0.3)]
    for pin in _outputs(part):
        ways += [*contact_ways(pin, likelihood=0.4), *joint_ways(pin, likelihood=0.2)]
    return tuple(ways)


FAMILY = Family(
    "selector switch",
    {"outputs": Parameter("number", 3.0), "closed in": Parameter("text", "")},
    _pins,
    _elements,
    _ways,
    separable=True,
)
