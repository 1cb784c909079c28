"""States of the search and what is known of each: a hash table in arrays, compiled.

A state is what is left (suspects), what has been reached (opened) and where the hands are (here).
Only what still matters is kept, so that states of one value fall together:

- a place matters only while a test that touches it separates suspects that are left;
- `opened` matters only where coming back costs something else than the first time;
- `here` matters only where coming back costs anything. With every `again` at 0 it is always empty.

Values are kept as minutes times weight of what is left, so that values of parts add up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from grader.tables import WORD, Tables
from sim.compiled import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: Marks a bound that has not been worked out.
UNKNOWN = -1.0
#: Marks a state whose best action is not known.
NO_ACTION = -1
_HALF = (1 << 30) - 1


class States(NamedTuple):
    """Known states; N places in the arrays, of which `used[0]` are in use."""

    key: NDArray[np.int64]  #: (N, words + 2) suspects as bits, opened, here
    lower: NDArray[np.float64]  #: (N,) lower bound, minutes times weight, or UNKNOWN
    upper: NDArray[np.float64]  #: (N,) cost of a known policy, minutes times weight, or infinite
    action: NDArray[np.int64]  #: (N,) first action of that policy: test, or -2 - unit
    table: NDArray[np.int64]  #: (power of two,) hash table: row, or -1
    used: NDArray[np.int64]  #: (1,)


def make_states(words: int, size: int) -> States:
    """Make room for `size` states whose suspects take `words` numbers."""
    slots = 1 << max(4, (2 * size - 1).bit_length())
    return States(
        key=np.zeros((size, words + 2), dtype=np.int64),
        lower=np.full(size, UNKNOWN),
        upper=np.full(size, np.inf),
        action=np.full(size, NO_ACTION, dtype=np.int64),
        table=np.full(slots, -1, dtype=np.int64),
        used=np.zeros(1, dtype=np.int64),
    )


def grow_states(states: States, size: int, *, keys: bool = True) -> States:
    """Copy into arrays with room for `size` states; rows stay where they are.

    Without `keys` the hash table is left empty: states are found otherwise then.
    """
    grown = make_states(states.key.shape[1] - 2, size)
    count = int(states.used[0])
    for old, new in zip(states[:4], grown[:4], strict=True):
        new[:count] = old[:count]
    grown.used[0] = count
    if keys:
        fill_table(grown)
    return grown


@compiled
def fill_table(states: States) -> None:
    """Enter every row into an empty hash table."""
    for row in range(states.used[0]):
        states.table[_seek(states, states.key[row])] = row


@compiled
def _seek(states: States, key: NDArray[np.int64]) -> int:
    """Give the slot of the hash table where the key is, or where it belongs."""
    mixed = 0
    for word in key:
        mixed = ((mixed ^ (word & _HALF)) * 0x3C6EF35F) & 0x3FFFFFFF
        mixed = ((mixed ^ (word >> 30) ^ (mixed >> 15)) * 0x2545F491) & 0x3FFFFFFF
    last = states.table.size - 1
    slot = (mixed ^ (mixed >> 13)) & last
    while states.table[slot] >= 0:
        known = states.key[states.table[slot]]
        same = True
        for index in range(key.size):
            if known[index] != key[index]:
                same = False
                break
        if same:
            break
        slot = (slot + 1) & last
    return slot


@compiled
def find_state(states: States, key: NDArray[np.int64]) -> int:
    """Give the row of a state, entering it if it is new; the caller has seen to room for it."""
    slot = _seek(states, key)
    row = states.table[slot]
    if row < 0:
        row = states.used[0]
        states.used[0] = row + 1
        states.table[slot] = row
        for index in range(key.size):
            states.key[row, index] = key[index]
    return int(row)


@compiled
def make_key(
    tables: Tables, suspects: NDArray[np.int64], opened: int, here: int
) -> NDArray[np.int64]:
    """Write a state as numbers, leaving out what does not matter.

    Parameters
    ----------
    tables : Tables
    suspects : array of int
        Rows of the suspects left, at least one, ascending.
    opened, here : int
        Places as bits; `here` counts as opened.

    Returns
    -------
    array of int
        Suspects as bits, opened, here.
    """
    words = (tables.weight.size + WORD - 1) // WORD
    key = np.zeros(words + 2, np.int64)
    for suspect in suspects:
        key[suspect // WORD] |= 1 << (suspect % WORD)
    for place in range(tables.reach.size):
        bit = 1 << place
        if (opened | here) & bit and _matters(tables.mark[place], suspects):
            if tables.again[place] < tables.reach[place] or _at_home(tables, place, suspects):
                key[words] |= bit
            if here & bit and tables.again[place] > 0.0:
                key[words + 1] |= bit
    return key


@compiled
def _matters(mark: NDArray[np.int64], suspects: NDArray[np.int64]) -> bool:
    """Tell whether some test at the place separates the suspects."""
    first = mark[suspects[0]]
    for suspect in suspects:  # noqa: SIM110 - a loop compiles to less
        if mark[suspect] != first:
            return True
    return False


@compiled
def _at_home(tables: Tables, place: int, suspects: NDArray[np.int64]) -> bool:
    """Tell whether the first way to a place is free where one of the suspects is the cause."""
    for suspect in suspects:  # noqa: SIM110 - a loop compiles to less
        if tables.home[tables.unit[suspect], place]:
            return True
    return False


@compiled
def read_suspects(tables: Tables, key: NDArray[np.int64]) -> NDArray[np.int64]:
    """Give the rows of the suspects in a key, ascending."""
    found = np.empty(tables.weight.size, np.int64)
    count = 0
    for suspect in range(tables.weight.size):
        if key[suspect // WORD] >> (suspect % WORD) & 1:
            found[count] = suspect
            count += 1
    return found[:count]
