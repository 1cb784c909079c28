"""What a record says, said again in the reader's language.

A record is English whoever worked, and so are names of readings and of what they show. A text is
taken apart as it was put together (pieces by ``; ``, a name and its sign by ``: ``), and each
piece that the catalogue knows is said in the language now spoken. What it does not know, names and
words of circuit and case files, stays as it is.
"""

from __future__ import annotations

import re

from sim.diagnosis.parameters import PARAMETERS
from sim.language import ENGLISH, msg, msg_in, retell, spoken

#: Every verb that is no word of another kind; the same test.
VERBS = (
    msg_in("verb", "set"),
    msg_in("verb", "unplug"),
    msg_in("verb", "plug"),
    msg_in("verb", "pull"),
    msg_in("verb", "insert"),
    msg_in("verb", "renew"),
    msg_in("verb", "swap"),
    msg_in("verb", "wait"),
    msg_in("verb", "measure"),
    msg_in("verb", "zero"),
    msg_in("verb", "jack"),
    msg_in("verb", "lamp"),
    msg_in("verb", "listen"),
    msg_in("verb", "bridge"),
    msg_in("verb", "unbridge"),
    msg_in("verb", "feel"),
    msg_in("verb", "touch"),
    msg_in("verb", "look"),
    msg_in("verb", "watch"),
    msg_in("verb", "clamp"),
    msg_in("verb", "led"),
    msg_in("verb", "load"),
    msg_in("verb", "conductance"),
    msg_in("verb", "temperature"),
    msg_in("verb", "smell"),
    msg_in("verb", "try"),
    msg_in("verb", "untry"),
    msg_in("verb", "scope"),
    msg_in("verb", "shake"),
    msg_in("verb", "warm"),
    msg_in("verb", "wet"),
    msg_in("verb", "leave"),
    msg_in("verb", "scan"),
)
#: What senses and displays say in words.
SAID = (
    msg("nothing out of the ordinary"),
    msg("hot"),
    msg("not hot"),
    msg("warm"),
    msg("lukewarm"),
    msg("cold"),
    msg("warm, with cold stripes"),
    msg("browned"),
    msg("melted"),
    msg("hot plastic"),
    msg("something burnt"),
    msg("rotten eggs"),
    msg("wet"),
    msg("damp"),
    msg("green"),
    msg("crust"),
    msg("chafed"),
    msg("missing"),
    msg("broken"),
    msg("sticky"),
    msg("gap"),
    msg("yes"),
    msg("no"),
    msg("clicks"),
    msg("silent"),
    msg("beeps"),
    msg("dark"),
    msg("dim"),
    msg("bright"),
    msg("red"),
    msg("dim red"),
    msg("dim green"),
    msg("no edges"),
    msg("no battery"),
    msg("good"),
    msg("good, charge it"),
    msg("replace"),
    msg("charge and test again"),
    msg("screen"),
    msg("wandering"),
    msg("amps"),
    msg("volts"),
    msg("siemens"),
    msg("minimum"),
    msg("maximum"),
    msg("mean"),
    msg("peak to peak"),
    msg("frequency"),
    msg("duty"),
)
#: What a scan tool and its units say, and what the tool and the meter are told to do.
TOLD = (
    msg("no control unit answers"),
    msg("no codes"),
    msg("no data"),
    msg("codes cleared"),
    msg("pending"),
    msg("confirmed"),
    msg("warning lamp"),
    msg("confirmed codes"),
    msg("code that froze the frame"),
    msg("present"),
    msg("not present"),
    msg("not present now"),
    msg("not tested yet"),
    msg("not tested again yet"),
    msg("history"),
    msg("misfire"),
    msg("fuel system"),
    msg("components"),
    msg("catalyst"),
    msg("heated catalyst"),
    msg("evaporation"),
    msg("secondary air"),
    msg("oxygen sensor"),
    msg("oxygen sensor heater"),
    msg("exhaust gas recirculation"),
    msg("complete"),
    msg("not complete"),
    msg("on"),
    msg("off"),
    msg("never started"),
    msg("running"),
    msg("finished"),
    msg("stopped"),
    msg("live data"),
    msg("maker data"),
    msg("freeze frame"),
    msg("codes"),
    msg("clear"),
    msg("hold"),
    msg("release"),
    msg("routine"),
    msg("graph"),
    msg("ohms"),
    msg("continuity"),
    msg("diode"),
    msg("AC volts"),
    msg("milliamps"),
    msg("hertz"),
    msg("leads"),
    msg("clamp"),
    msg("with the function"),
    msg("rising"),
    msg("falling"),
    msg("everything"),
    msg("body"),
)
#: Texts that are made with a name in them.
MADE = (
    msg("{name} is the unit's own again"),
    msg("{name} held at {value}"),
    msg("no answer from {unit}"),
    msg("no answer"),
    msg("the meter's fuse has blown"),
    msg("the meter's 400 mA fuse has blown"),
    msg("the jumper's fuse has blown"),
    msg("{name} has blown"),
    msg("{part} may have been fired: a restraint takes no current from a tester"),
    msg("the output is dead"),
    msg("monitor {name} not complete"),
    msg("monitor {name} complete"),
    msg("monitor {name}"),
    msg("warning lamp {state}"),
    msg("confirmed codes {n}"),
    msg("code that froze the frame {code}"),
    msg("{title} ({detail})"),
    msg("no {what}"),
    msg("{one} and {other} by turns"),
)
_CODE = re.compile(r"([PBCU][0-9A-F]{4}(?:-[0-9A-F]{2})?) (.+)", re.DOTALL)


def retold(text: object) -> str:
    """Return what a record says, said again in the language now spoken."""
    said = str(text)
    if spoken() == ENGLISH:
        return said
    units = (unit.split("; ") for unit in said.split(" | "))
    return " | ".join("; ".join(_piece(piece) for piece in unit) for unit in units)


def _piece(text: str) -> str:
    told = retell(text, MADE)
    if told != text:
        return told
    code = _CODE.fullmatch(text)
    if code:
        title, found, status = code[2].rpartition(": ")
        return f"{code[1]} {_piece(title)}{found}{_piece(status)}"
    for name in (one.name for one in PARAMETERS.values()):
        if text.startswith(f"{name} "):
            return f"{retell(name)}{text.removeprefix(name)}"
    for sign in (": ", ", "):
        head, found, tail = text.partition(sign)
        if found:
            return f"{_piece(head)}{sign}{_piece(tail)}"
    return text
