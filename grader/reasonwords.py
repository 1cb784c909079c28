"""Reasons in words: suspects as a mechanic would list them, and a sentence for every reason.

The sentences say by what way the current comes and where it is stopped; they are put together
from `grader.because`, and no case brings any text of its own to them.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import reduce

from grader.because import Because
from grader.currentpath import FLOWS
from sim.language import msg, retell, say, say_in
from sim.vocabulary import WAYS

IN_WORDS = ""  # the way of a cause that is no failed part: its name says all
MOST = 6  # names in a list before "or one of the N others"


def listed(names: Sequence[str], last: str = "or", most: int = MOST) -> str:
    """Return names as a list in a sentence: ``a, b or c``; a long one is cut and counted."""
    shown = list(names)
    if len(shown) > most + 1:
        cut = {"or": msg("{names} or {n} more"), "and": msg("{names} and {n} more")}
        return say(cut[last], names=", ".join(shown[:most]), n=len(shown) - most)
    if len(shown) < 2:  # noqa: PLR2004 -- one needs no list
        return "".join(shown)
    whole = {"or": msg("{names} or {last}"), "and": msg("{names} and {last}")}
    return say(whole[last], names=", ".join(shown[:-1]), last=shown[-1])


def bare_name(suspect: str) -> str:
    """Return a suspect's name without signs and severities: ``C41.1 high resistance``.

    A cause that is no failed part is no fault: its name stays as the case has it.
    """
    if "=" not in suspect:
        return suspect
    faults = (fault.partition(":")[0].replace("=", " ", 1) for fault in suspect.split(" + "))
    return " and ".join(faults)


def suspects_words(suspects: Sequence[str], graded: Collection[str] = ()) -> str:
    """Return what ``with ...`` goes on with: alike ways of failing together, each point once.

    Parameters
    ----------
    suspects : sequence of str
    graded : collection of str
        Suspects of which it has to be said how bad they are: worse or better they show otherwise.
    """
    by_way: dict[tuple[str, str], list[str]] = {}
    for name in suspects:
        point, way = _point_and_way(bare_name(name)) if "=" in name else (name, IN_WORDS)
        kind = (way, severity_of(name) if name in graded else "")
        if point not in by_way.setdefault(kind, []):
            by_way[kind].append(point)
    count = sum(len(points) for points in by_way.values())
    if count > MOST + 1:
        by_way = _first_of(by_way, MOST)
    pieces = [_piece(way, points, how_bad) for (way, how_bad), points in by_way.items()]
    told = reduce(lambda one, two: say("{one}, or with {two}", one=one, two=two), pieces)
    if count > MOST + 1:
        return say("{some}, or with one of {n} others,", some=told, n=count - MOST)
    return told


def severity_of(suspect: str) -> str:
    """Return how bad a single fault is, as written: ``0.8 ohm``; empty where its name has none."""
    return "" if " + " in suspect else suspect.partition(":")[2]


def _first_of(
    by_way: Mapping[tuple[str, str], Sequence[str]], most: int
) -> dict[tuple[str, str], list[str]]:
    """Return the first points of a few ways, at least one of each as far as that goes."""
    kept: dict[tuple[str, str], list[str]] = {}
    deepest = max(len(points) for points in by_way.values())
    turns = [(way, pts[n]) for n in range(deepest) for way, pts in by_way.items() if n < len(pts)]
    for way, point in turns[:most]:
        kept.setdefault(way, []).append(point)
    return kept


def _point_and_way(name: str) -> tuple[str, str]:
    first, _, rest = name.partition(" ")
    if first in ("wire", "strap"):
        number, _, way = rest.partition(" ")
        return f"{first} {number}", way
    return first, rest


def _piece(way: str, points: Sequence[str], how_bad: str) -> str:
    if way == IN_WORDS:
        named = [say("“{label}”", label=point) for point in points]
        return say("{causes} as the cause", causes=listed(named))
    if how_bad and way == "high resistance":
        return say("{severity} in {points}", severity=how_bad, points=listed(points))
    if how_bad:
        values = {"points": listed(points), "way": _way(way), "severity": how_bad}
        return say("{points} {way} ({severity})", **values)
    if way == "high resistance":
        return say("a high resistance in {points}", points=listed(points))
    return say("{points} {way}", points=listed(points), way=_way(way))


def _way(way: str) -> str:
    """Return a way of failing as it is said; behind a compound one stand the other faults."""
    first, *others = way.split(" and ")
    told = retell(first, WAYS)
    for other in others:
        point, also = _point_and_way(other)
        told = say("{one} and {two}", one=told, two=f"{point} {retell(also, WAYS)}")
    return told


def range_words(numbers: Sequence[float], unit: str) -> str:
    """Return a few numbers as one span, two figures each; empty for none."""
    finite = sorted(number for number in numbers if abs(number) < 1e12)  # noqa: PLR2004 -- no OL
    if not finite:
        return ""
    low, high = (_figure(number) for number in (finite[0], finite[-1]))
    span = f"{low} {unit}"
    if low != high:
        span = say("{low} to {high} {unit}", low=low, high=high, unit=unit)
    return span.replace("k ", "k")


def _figure(number: float) -> str:
    size = abs(number)
    if size >= 1e4:  # noqa: PLR2004 -- only an ohmmeter shows so much
        return f"{number / 1e3:.0f} k"
    return f"{number:.0f}" if size >= 100 else f"{number:.1f}".replace("-0.0", "0.0")  # noqa: PLR2004


#: Kind of reason, current or not -> the sentence; {with} names the suspects, {at} the point or
#: thing looked at, {would} what it would have shown.
SENTENCES: Mapping[tuple[str, bool], str] = {
    ("before", False): msg(
        "With {with} there is no way for current to {at}{via}. It would have shown {would}."
    ),
    ("before", True): msg(
        "With {with} current still gets through, but loses voltage on its way to {at}{via}. "
        "It would have shown {would}."
    ),
    ("slight", True): msg(
        "With {with} some of the voltage is lost on its way to {at}{via}, but not enough to be "
        "seen. It would have shown {would}, as a sound vehicle does."
    ),
    ("behind", False): msg(
        "With {with} there is no way for current on from {at} to ground{via}. None flows, so "
        "none of the voltage is lost on the way to {at}. It would have shown {would}."
    ),
    ("behind", True): msg(
        "With {with} the current is held back behind {at}{via}, and the voltage stays up before "
        "it. It would have shown {would}."
    ),
    ("beyond", True): msg(
        "With {with} the current has a poor way back to the battery, and everything on the body "
        "gets less. It would have shown {would}."
    ),
    ("beyond", False): msg(
        "With {with} there is no way for current back to the battery{via}. It would have shown "
        "{would}."
    ),
    ("between", False): msg(
        "With {with} the way is broken between the two leads{via}: supply on one side, ground on "
        "the other. It would have shown {would}."
    ),
    ("between", True): msg(
        "With {with} {amps} have to get through there, and the voltage is lost between the two "
        "leads{via}. It would have shown {would}."
    ),
    ("outside", False): msg(
        "With {with} there is no way for current{via}. Where none flows nothing is lost, so it "
        "would have shown {would} between the two leads."
    ),
    ("outside", True): msg(
        "With {with} the voltage is lost elsewhere, not between the two leads. It would have "
        "shown {would}."
    ),
    ("flow", False): msg(
        "With {with} there is no way for current through {at}{via}. It would have shown {would}."
    ),
    ("flow", True): msg(
        "With {with} only {amps} get through{via}, {sound} on a sound vehicle. It would have "
        "shown {would}."
    ),
    ("heat", True): msg(
        "With {with} {amps} have to get through a poor contact in {at}, and heat it. It would have "
        "shown {would}."
    ),
    ("heat", False): msg(
        "With {with} there is no way for current through {at}{via}, so nothing heats it. It would "
        "have shown {would}."
    ),
    ("stray", True): msg(
        "With {with} current finds a way through {at} that it should not have: {amps} run there, "
        "{sound} on a sound vehicle. It would have shown {would}."
    ),
    ("open", False): msg(
        "With {with} the meter's own current has no way from lead to lead{via}. It would have "
        "shown {would}."
    ),
    ("live", True): msg(
        "With {with} the vehicle's own current runs there, and an ohmmeter cannot be believed. It "
        "would have shown {would}."
    ),
    ("unfed", False): msg(
        "With {with} there is no way for current to {at} as the vehicle stood, no more than on a "
        "sound one. It would have shown {would}."
    ),
    ("seen", False): msg("With {with} eyes and hands would have found: {would}."),
    ("plain", False): msg("With {with} it would have shown {would}."),
}
FED = msg("With {with} current gets to {at} by way of {way}. It would have shown {would}.")
OWN = msg("With {with} the meter's own current has a way, by {way}. It would have shown {would}.")
SAME = msg(
    "With {with} nothing is in the way to {at}. It would have shown {would}, as a sound vehicle "
    "does."
)
SAME_FLOW = msg(
    "With {with} nothing is in the way of the current through {at}: {amps} flow. It would have "
    "shown {would}."
)


def sentence(
    because: Because,
    whose: str,
    would: str,
    at: str,
    sound: float,
    *,
    own: bool,
    current: bool,
) -> str:
    """Return why these suspects would have shown something, in a sentence or two.

    Parameters
    ----------
    because : Because
    whose : str
        The suspects that share the reason, in the words of `suspects_words`.
    would : str
        What each of them would have shown.
    at : str
        The point or thing looked at.
    sound : float
        The current on the sound vehicle, A.
    own : bool
        Whether the instrument sends a current of its own.
    current : bool
        Whether a current is looked at, and not points.
    """
    pattern = SENTENCES.get((because.kind, because.flows)) or SENTENCES.get((because.kind, False))
    if because.kind in ("fed", "same"):
        pattern = _way_pattern(because, own=own, current=current)
    values = {
        "with": whose,
        "at": at,
        "would": would,
        "via": f" ({because.via})" if because.via else "",
        "amps": amps_words(because.amps),
        "sound": amps_words(sound),
        "way": way_words(because.way),
    }
    sure = pattern or SENTENCES["plain", False]
    return say(sure, **values)


def _way_pattern(because: Because, *, own: bool, current: bool) -> str:
    if own:
        return OWN
    if because.kind == "same":
        return SAME_FLOW if current else SAME
    return FED


def way_words(owners: Sequence[str]) -> str:
    """Return the parts on a way as a list, heavy cables between rails left out unless it is all."""
    named = [_rail(name) for name in owners if not name.startswith("strap ")]
    return listed(named, "and", most=20) if named or not owners else say("the heavy cables")


def _rail(name: str) -> str:
    return say("link {name}", name=name.removeprefix("link")) if name.startswith("link") else name


def percent_words(share: float) -> str:
    """Return a share of 1 as ``28 %``, a small one as ``4.3 %``; the page does it alike."""
    value = 100 * share
    return f"{value:.1f} %" if value < 9.95 else f"{value:.0f} %"  # noqa: PLR2004 -- two figures


def luck_words(minutes: float) -> str:
    """Return minutes of luck with their sign, ``-3.5``; next to nothing has none."""
    return f"{minutes:+.1f}" if abs(minutes) >= 0.05 else "0.0"  # noqa: PLR2004 -- as it is rounded


def amps_words(amps: float) -> str:
    """Return a current as ``13 A`` or ``140 mA``, and what lights nothing as ``none``."""
    if amps < FLOWS:
        return say_in("current", "none")
    if amps < 1.0:
        return f"{amps * 1e3:.0f} mA"
    return f"{amps:.0f} A" if amps >= 10.0 else f"{amps:.1f} A"  # noqa: PLR2004 -- two figures
