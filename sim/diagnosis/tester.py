"""The scan tool's side of ISO 14229-1: udsoncan over our bus.

An edge. `uds_client` gives a udsoncan client that reads and writes a unit's identifiers in SI;
there is nothing to wait for, so a unit that has not answered will not, and the client's time-out
is raised at once.
"""

from __future__ import annotations

from collections import deque

from udsoncan import DidCodec
from udsoncan.client import Client
from udsoncan.configs import default_client_config
from udsoncan.connections import BaseConnection
from udsoncan.exceptions import TimeoutException
from udsoncan.typing import CodecDefinition, IOConfig

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.identified import PARAMETER_PAGE, VIN
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.scaling import Scaling

VIN_LENGTH = 17


class BusConnection(BaseConnection):
    """A udsoncan connection to one unit on the bus."""

    def __init__(self, bus: DiagnosticBus, unit: str) -> None:
        super().__init__(unit)
        self._bus = bus
        self._unit = unit
        self._waiting: deque[bytes] = deque()
        self._opened = False

    def open(self) -> BusConnection:
        """Begin to talk."""
        self._opened = True
        return self

    def close(self) -> None:
        """End talking."""
        self._opened = False

    def is_open(self) -> bool:
        """Tell whether requests can be sent."""
        return self._opened

    def specific_send(self, payload: bytes, timeout: float | None = None) -> None:  # noqa: ARG002
        """Send a request; its answer is there when this returns."""
        answers = self._bus.ask(self._unit, payload)
        self._waiting.extend(answer.data for answer in answers)

    def specific_wait_frame(self, timeout: float | None = None) -> bytes:  # noqa: ARG002
        """Return the next answer; raises udsoncan's `TimeoutException` where there is none."""
        if not self._waiting:
            raise TimeoutException(f"no answer from {self._unit}")
        return self._waiting.popleft()

    def empty_rxqueue(self) -> None:
        """Forget answers that nobody has read."""
        self._waiting.clear()

    def empty_txqueue(self) -> None:
        """Do nothing: requests are not kept."""


class ScalingCodec(DidCodec):
    """One number behind an identifier, in SI."""

    def __init__(self, scaling: Scaling) -> None:
        self._scaling = scaling

    def encode(self, *values: float) -> bytes:
        """Return the bytes of a value."""
        return self._scaling.encode(values[0])

    def decode(self, data: bytes) -> float:
        """Return the value of bytes."""
        return self._scaling.decode(data)

    def __len__(self) -> int:
        """Return the number of bytes."""
        return self._scaling.length


class TextCodec(DidCodec):
    """A text behind an identifier."""

    def __init__(self, length: int) -> None:
        self._length = length

    def encode(self, *values: str) -> bytes:
        """Return the bytes of a text."""
        return values[0].encode("ascii")

    def decode(self, data: bytes) -> str:
        """Return the text of bytes."""
        return data.decode("ascii")

    def __len__(self) -> int:
        """Return the number of bytes."""
        return self._length


def uds_client(bus: DiagnosticBus, name: str) -> Client:
    """Return a client for one unit, not yet opened; use it in a `with`."""
    unit = bus.unit(name)
    codecs: dict[int | str, CodecDefinition] = {
        PARAMETER_PAGE + key: ScalingCodec(one.scaling) for key, one in PARAMETERS.items()
    }
    codecs |= {one.identifier: ScalingCodec(one.scaling) for one in unit.readable}
    codecs |= {key: TextCodec(len(text)) for key, text in unit.labels.items()}
    codecs[VIN] = TextCodec(VIN_LENGTH)
    outputs: IOConfig = {one.identifier: ScalingCodec(one.scaling) for one in unit.outputs}
    config = default_client_config.copy()
    config["data_identifiers"] = codecs
    config["input_output"] = outputs
    return Client(BusConnection(bus, name), config=config)
