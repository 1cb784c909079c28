"""What an author is told of a case, against the circuit and the simulator."""

from dataclasses import replace

import numpy as np
import pytest

from grader.authoring import (
    ambiguity_groups,
    depth,
    hurtful,
    ruled_out_by_complaint,
)
from grader.besttree import best_tree, outcome_words, step_words, tree_lines
from sim.action import Action
from sim.faults import possible_faults, write_faults
from tests.grader.foggy import foggy, prepared


def test_groups_are_exactly_the_suspects_that_every_reading_treats_alike():
    space, names = prepared().space, [s.name for s in prepared().lineup.suspects]
    columns = np.array([parts.member for parts in space.splits])
    grouped = {name for group in ambiguity_groups(prepared()) for name in group.suspects}
    for k, name in enumerate(names):
        twins = [j for j in range(len(names)) if j != k and (columns[:, j] == columns[:, k]).all()]
        assert (name in grouped) == bool(twins), name


def test_severities_of_one_joint_are_a_group_with_one_repair():
    groups = ambiguity_groups(prepared())
    mine = [g for g in groups if "X7=high resistance:0.4 ohm" in g.suspects]
    assert [g.units for g in mine] in ([], [("ground X7",)])
    assert all(len(group.units) == 1 for group in groups)  # the shipped case is decidable


def test_suspects_and_what_the_complaint_rules_out_are_all_faults_of_the_circuit():
    out = [name for one in ruled_out_by_complaint(prepared()) for name in one.faults]
    suspects = [suspect.name for suspect in prepared().lineup.suspects]
    every = [write_faults(foggy().circuit, f) for f, _p in possible_faults(foggy().circuit)]
    assert sorted(out + suspects) == sorted(every)


def test_each_is_ruled_out_by_what_it_would_have_looked_like():
    told = {one.would: one.faults for one in ruled_out_by_complaint(prepared())}
    assert "F12=open" in told["switch lamp lights: no"]
    assert "H1.1=open" in told["rear window clears: yes"]


def test_an_ammeter_across_the_battery_would_hurt():
    told = hurtful(prepared())
    assert "amps from B1.+ to body" in told["the meter's fuse has blown"]
    assert any("B1.+ and body" in deed for deed in told["the jumper's fuse has blown"])
    assert not any("from X7.ring to body" in deed for deeds in told.values() for deed in deeds)


def test_the_depth_of_a_tree_counts_tests_and_repairs():
    leaf = {"unit": "fuse F7"}
    assert depth(leaf) == 1
    assert depth({"test": "0: volts", "outcomes": {"supply": leaf, "nothing": leaf}}) == 2
    assert depth({"replace": "fuse F7", "wrong": leaf}) == 2
    assert depth(best_tree(prepared())) >= 5


def test_the_tree_reads_like_orders_to_a_colleague():
    lines = list(tree_lines(prepared(), best_tree(prepared())))
    assert lines[0] == "(key run, heater switch on, unless a line says otherwise)"
    assert lines[1] == "  listen to K3, while heater switch goes on [0.2 min]"
    assert any(line.strip().startswith("full supply: volts at ") for line in lines)
    for line in lines[1:]:
        assert "->" in line or "[" in line or "repair" in line, line
        assert "key run" not in line, line


@pytest.mark.parametrize(
    ("start", "words"),
    [
        ("clamp on wire 6 (K3 and K5 exchanged", "clamp on wire 6, K3 and K5 exchanged"),
        ("volts at F7.1 (F7 pulled, key run", "volts at F7.1, F7 pulled"),
        ("ohms X7.ring to body (key off", "ohms X7.ring to body, everything off"),
        ("watch: horn sounds (key run", "watch: horn sounds, horn button pressed"),
    ],
)
def test_what_has_to_be_set_up_is_said(start, words):
    choices = [c for c in prepared().space.choices if c.name.startswith(start)]
    assert {step_words(prepared(), choice) for choice in choices} == {words}


def test_one_of_two_controls_at_rest_is_not_everything_off():
    """The key stays on: whoever turns everything off sees something else."""
    settings = (("key", "run"), ("heater switch", "off"))
    choice = next(c for c in prepared().space.choices if c.name.startswith("watch: horn"))
    half = replace(choice, prepare=(Action("set", settings=settings),))
    assert step_words(prepared(), half) == "watch: horn sounds, heater switch off"
    off = replace(choice, prepare=(Action("set", settings=(("key", "off"), settings[1])),))
    assert step_words(prepared(), off) == "watch: horn sounds, everything off"


def test_bands_are_told_in_a_mechanics_words():
    choices = {c.name.partition(" (")[0]: c for c in prepared().space.choices}
    assert outcome_words(choices["volts at C41.1b"], "nothing or part") == (
        "nothing or some of the supply"
    )
    assert outcome_words(choices["ohms X7.ring to body"], "some") == "some resistance"
    assert outcome_words(choices["listen to K3"], "clicks") == "clicks"
