"""Language: what is said, what is said again, who speaks what."""

import gettext
import threading
from contextvars import copy_context

import pytest

from lessons.catalogue import CIRCUITS
from sim.circuitfile import read_circuit
from sim.diagnosis.codes import TITLES
from sim.errors import LanguageError
from sim.instruments.registry import VERBS
from sim.language import (
    ENGLISH,
    VARIABLE,
    catalogue,
    languages,
    page_words,
    retell,
    say,
    say_in,
    say_many,
    speaking,
    spoken,
    wanted,
)
from sim.parts import FAMILIES
from sim.retold import MADE, retold
from sim.retold import VERBS as VERB_WORDS
from sim.vocabulary import KINDS, SIGNS, WAYS


def test_english_is_the_text_itself() -> None:
    assert say("{n} suspects in {place}", n=3, place="boot") == "3 suspects in boot"
    assert say("a text without places, {as it is}") == "a text without places, {as it is}"
    assert say_many("{n} step", "{n} steps", 1) == "1 step"
    assert say_many("{n} step", "{n} steps", 0) == "0 steps"
    assert page_words(ENGLISH) == {}


def test_a_language_has_its_own_order_of_words() -> None:
    with speaking("de"):
        assert say("repair {unit}", unit="hinge joint") == "hinge joint reparieren"
        assert say("Evidence") == "Befunde"
        assert say_many("{n} step", "{n} steps", 1) == "1 Schritt"
        assert say_many("{n} step", "{n} steps", 2) == "2 Schritte"
        assert say("a text that nobody has translated") == "a text that nobody has translated"


def test_one_word_is_said_by_what_it_means() -> None:
    with speaking("de"):
        assert (say("warm"), say_in("verb", "warm")) == ("warm", "Erwärmen")
        assert (say("load"), say_in("verb", "load")) == ("Last", "Belasten")
    assert say_in("verb", "warm") == "warm"


def test_the_plural_is_gettexts_own() -> None:
    """The rule in the file against the one that GNU gettext's interpreter makes of it."""
    rule = gettext.c2py(catalogue("de").plural_expr)
    assert [int(rule(n)) for n in (0, 1, 2, 5)] == [1, 0, 1, 1]


def test_a_language_is_spoken_for_a_while() -> None:
    with speaking("de"), speaking(ENGLISH):
        assert spoken() == ENGLISH
    assert spoken() == ENGLISH
    with pytest.raises(RuntimeError, match="on the way"), speaking("de"):
        raise RuntimeError("on the way")
    assert spoken() == ENGLISH


def test_threads_do_not_hear_each_other() -> None:
    heard = []
    with speaking("de"):
        ours = copy_context()
        for run in (
            lambda: heard.append(spoken()),
            lambda: ours.run(lambda: heard.append(spoken())),
        ):
            thread = threading.Thread(target=run)
            thread.start()
            thread.join()
    assert heard == ["en", "de"]


def test_an_unknown_language_is_one_clear_line(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(LanguageError, match=r"^language: got 'xx', there are en, de$"):
        wanted("xx")
    monkeypatch.setenv(VARIABLE, "tlh")
    with pytest.raises(LanguageError, match=r"^HALFSPLIT_LANGUAGE: got 'tlh', there are en, de$"):
        wanted()
    monkeypatch.setenv(VARIABLE, "de")
    assert wanted() == "de"
    assert wanted("en") == "en"
    assert languages() == {"en": "English", "de": "Deutsch"}


def test_what_a_record_says_is_said_again() -> None:
    said = {
        "nothing out of the ordinary": "nichts Auffälliges",
        "F7: the strip in the window is melted through; K3: browned": (
            "F7: der Streifen im Sichtfenster ist durchgeschmolzen; K3: braun verfärbt"
        ),
        "F7 has blown": "F7 ist durchgebrannt",
        "warm, with cold stripes": "warm, mit kalten Streifen",
        "wet, clicks": "nass, klickt",
        "A1: P0117 Coolant temperature sensor 1: signal low: confirmed | A2: no codes": (
            "A1: P0117 Kühlmitteltemperatursensor 1: Signal zu niedrig: bestätigt | "
            "A2: keine Fehlercodes"
        ),
        "A1: coolant temperature 83 °C": "A1: Kühlmitteltemperatur 83 °C",
        "A1: no answer from A1": "A1: keine Antwort von A1",
        "C41: broken strands and a browned terminal": "C41: broken strands and a browned terminal",
    }
    for text, german in said.items():
        assert retold(text) == text
        with speaking("de"):
            assert retold(text) == german


def test_a_pattern_is_found_by_its_words() -> None:
    with speaking("de"):
        assert retell("short to wire 34", WAYS) == "Schluss zu wire 34"
        assert retell("second pair stuck dominant", WAYS) == "zweites Paar ständig dominant"
        assert retell("wire 34 is long", WAYS) == "wire 34 is long"
        assert retell("K3 has blown", MADE) == "K3 ist durchgebrannt"


@pytest.mark.parametrize("file", sorted(CIRCUITS.glob("*.circuit.yaml")), ids=lambda f: f.stem)
def test_every_word_of_a_shipped_circuits_parts_is_marked(file) -> None:
    circuit = read_circuit(file)
    ways = [way for part in circuit.parts.values() for way in FAMILIES[part.kind].ways(part)]
    with speaking("de"):
        unsaid = {way.name for way in ways if retell(way.name, WAYS) == way.name} - {
            "drift",
            "Drift",
        }
    assert unsaid <= set()
    assert {way.seen for way in ways if way.seen} <= set(SIGNS)


def test_every_kind_and_verb_is_marked() -> None:
    assert set(KINDS) == set(FAMILIES)
    assert set(VERB_WORDS) == set(VERBS)
    with speaking("de"):
        assert [title for title in TITLES.values() if say(title) == title] == []
