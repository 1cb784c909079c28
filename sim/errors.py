"""Everything that `sim` raises on purpose.

SimError                   one clear line: what, got, allowed, where, what next
├── QuantityError          a text that is no number with a unit of the kind wanted
├── CircuitFileError       a mistake in a circuit file, with file and line
│   └── DiagramError       a mistake in its diagram section, with track and items
├── FaultError             a fault that this circuit cannot have
├── ActionError            something that cannot be done at the bench as it stands
├── SolveError             a circuit that has no steady state, with the physical cause
│   └── RulesError         control modules whose rules chase each other, with the cycle
├── LanguageError          a language that there is no catalogue of
└── DiagnosisError         a trouble code, parameter, unit or answer that the standards do not know
    └── RefusedError       what a control unit answers with a negative response
"""

from __future__ import annotations


class SimError(Exception):
    """Base of all errors of this package; its text is one clear line."""


class QuantityError(SimError):
    """A text is not a number with a unit of the wanted kind."""


class CircuitFileError(SimError):
    """A circuit file says something that cannot be; the text names file and line."""


class DiagramError(CircuitFileError):
    """A track names what it cannot show, or parts stand in no track.

    Attributes
    ----------
    track : str
        Number of the track; empty if it is about all of them.
    items : tuple of str
        The items in question, as the circuit file names them.
    reason : str
        What is wrong, without the circuit's name and the track.
    """

    def __init__(self, circuit: str, track: str, items: tuple[str, ...], reason: str) -> None:
        where = f"diagram, track {track}" if track else "diagram"
        super().__init__(f"{circuit}: {where}: {reason}")
        self.track, self.items, self.reason = track, items, reason


class FaultError(SimError):
    """A fault names a part, pin, way or severity that this circuit does not have."""


class LanguageError(SimError):
    """There is no catalogue of this language."""


class ActionError(SimError):
    """An action cannot be done at the bench as it stands."""


class SolveError(SimError):
    """A circuit has no steady state; the text gives the physical cause."""


class RulesError(SolveError):
    """Rules of control modules chase each other.

    Attributes
    ----------
    cycle : str
        What never rests: ``MODULE: decision``, one after the other.
    events : int
        How many things had been due in one stretch of time when it was given up; 0 where they
        chase each other in no time at all.
    """

    def __init__(self, cycle: str, events: int = 0) -> None:
        text = (
            f"the rules never come to rest: {cycle} chase each other; give one of them a delay, or "
            f"its `on` and `off` a wider gap"
        )
        if events:
            text = (
                f"the rules never come to rest: more than {events} things were due in one stretch "
                f"of time, the last of them {cycle}; give them longer delays, or let a pulsed "
                f"output do what is to be quick"
            )
        super().__init__(text)
        self.cycle, self.events = cycle, events


class DiagnosisError(SimError):
    """A trouble code, parameter, control unit or answer does not agree with the standards."""


class RefusedError(DiagnosisError):
    """A control unit refuses a request.

    Attributes
    ----------
    code : int
        Negative response code of ISO 14229-1.
    """

    def __init__(self, code: int) -> None:
        super().__init__(f"request refused with negative response code 0x{code:02X}")
        self.code = code
