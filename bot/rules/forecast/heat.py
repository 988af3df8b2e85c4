"""Two heat balances of a cooler, for many draws at once: ice with its melt water, and what lies on it.

Needs numpy, which takes memory that the line itself has no use for: imported only in a process of its own.
Units: s, kg, J, W/K, degrees Celsius. Constants at 0 C and 100 kPa: latent heat 334 kJ/kg, water 4218 and
ice 2101 J/kg K (a heat-transfer textbook's appendix; TEOS-10 has 333.43 kJ/kg).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Draws: TypeAlias = NDArray[np.float64]

LATENT, WATER, ICE = 334_000.0, 4218.0, 2101.0
# Of the heat that an opened lid lets in: moist air gives it up where it is coldest, and most of that is ice.
TO_CONTENTS = 0.1  # common practice, no source
LEAST_KG = 0.05  # of water in the cooler, so that its heat capacity is never nothing


@dataclass
class State:
    """Where each draw stands: ice and melt water in kg, their temperature, that of the contents."""

    ice: Draws
    water: Draws
    below: Draws
    inside: Draws
    capacity: Draws  # of the contents, J/K


@dataclass(frozen=True)
class Walls:
    """What each draw is made of, in W/K: its walls' conductance, and that between contents and ice.

    `share` is the part of the walls' that reaches the contents first.
    """

    conductance: Draws
    share: Draws
    contact: Draws


def step(state: State, walls: Walls, outside: Draws, seconds: float) -> None:
    """Each draw is `seconds` further; the outside is the same for so long.

    Exact while there is ice, else of second order: the contents go half of the way before the ice's
    temperature moves, and half after it.
    """
    to_inside = walls.share * walls.conductance
    to_below = walls.conductance - to_inside
    pull = to_inside + walls.contact
    rest = (to_inside * outside + walls.contact * state.below) / pull
    parts = pull * seconds / state.capacity
    half = np.exp(-0.5 * parts)
    apart = state.inside - rest
    mean = rest + apart * (1 - half * half) / parts
    thermal = state.water * WATER + state.ice * ICE
    pull_below = to_below + walls.contact
    rest_below = (to_below * outside + walls.contact * mean) / pull_below
    flow = (to_below * (outside - state.below) + walls.contact * (mean - state.below)) * seconds
    moved = thermal * (rest_below - state.below) * (1 - np.exp(-pull_below * seconds / thermal))
    _take_up(state, flow, moved, thermal)
    after = (to_inside * outside + walls.contact * state.below) / pull
    state.inside = after + (rest + apart * half - after) * half


def _take_up(state: State, flow: Draws, moved: Draws, thermal: Draws) -> None:
    """Heat goes into melting or freezing first, what is left into temperature."""
    if flow.min() >= 0 and state.below.min() >= 0:  # nothing freezes anywhere: the usual case, and quicker
        melted = np.where(state.ice > 0, np.minimum(flow / LATENT, state.ice), 0.0)
        heat = np.where(state.ice > 0, flow - melted * LATENT, moved)
        state.ice, state.water = state.ice - melted, state.water + melted
        state.below = state.below + heat / thermal
        return
    melting = (state.ice > 0) & (state.below >= 0) & (flow > 0)
    freezing = (state.water > LEAST_KG) & (state.below <= 0) & (flow < 0)
    changing = melting | freezing
    heat = np.where(changing, flow, moved)
    # Warming ice reaches 0 and goes on by melting; cooling water reaches 0 and goes on by freezing.
    to_zero = -state.below * thermal
    crossing = ~changing & (
        ((state.ice > 0) & (state.below < 0) & (heat > to_zero))
        | ((state.water > LEAST_KG) & (state.below > 0) & (heat < to_zero))
    )
    heat = np.where(crossing, heat - to_zero, heat)
    changing |= crossing
    melted = np.where(changing, np.clip(heat / LATENT, -(state.water - LEAST_KG), state.ice), 0.0)
    left = np.where(changing, heat - melted * LATENT, heat)
    state.ice = np.maximum(0.0, state.ice - melted)
    state.water = state.water + melted
    start = np.where(changing, 0.0, state.below)
    state.below = start + left / (state.water * WATER + state.ice * ICE)


def add_ice(state: State, kg: Draws, fresh: bool) -> None:
    """Ice of 0 C is put in; `fresh` where what was there went out first."""
    if fresh:
        state.ice = np.zeros_like(state.ice)
        state.water = np.full_like(state.water, LEAST_KG)
        state.below = np.zeros_like(state.below)
    thermal = state.water * WATER + state.ice * ICE
    spare = thermal * np.maximum(0.0, state.below)
    melted = np.minimum(kg, spare / LATENT)
    state.below = np.where(state.below > 0, (spare - melted * LATENT) / (thermal + kg * WATER), state.below)
    state.ice = state.ice + kg - melted
    state.water = state.water + melted


def put_in(state: State, capacity: float, celsius: Draws) -> None:
    """Something of this heat capacity and temperature lies among the contents now."""
    whole = state.capacity + capacity
    state.inside = (state.capacity * state.inside + capacity * celsius) / whole
    state.capacity = whole


def take_out(state: State, capacity: float, least: float) -> None:
    """Something of this heat capacity lies among the contents no more."""
    state.capacity = np.maximum(least, state.capacity - capacity)


def warm(state: State, joules: Draws) -> None:
    """Warm air came in: a part of its heat meets the contents, the rest the ice."""
    state.inside = state.inside + TO_CONTENTS * joules / state.capacity
    flow = (1 - TO_CONTENTS) * joules
    _take_up(state, flow, flow, state.water * WATER + state.ice * ICE)
