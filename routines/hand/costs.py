"""What is hard for the hands, in numbers: every cost and limit of the hand model, each with its reason.

The unit: 1.0 is what a barre across half the strings, a shift by two low frets or the third string
picked a finger too far costs: noticed, and no more. Nothing costs less than nothing, but for a thumb on an
accent. A trouble is what no hand does at the tempo: its cost is finite, so that there is always an answer,
and above all that a playable lick can gather, so that any playable way wins.

Each number is explained by a test (tests/test_routines_hand_*), named after what a player would say. They
are set by judgement on shapes and licks whose fingering is common knowledge; none is measured on players.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

TROUBLE = 1000.0
"""What no hand does: more than everything playable, yet finite."""

# The left hand: reach.

SCALE_MM = 667.0
"""From nut to bridge: the common long neck."""

COMFORT_MM: Mapping[tuple[int, int], float] = MappingProxyType(
    {(1, 2): 38.0, (2, 3): 38.0, (3, 4): 38.0, (1, 3): 73.0, (2, 4): 73.0, (1, 4): 101.0}
)
"""Two fingers: how far apart their frets may be at no cost. A finger a fret, from fret 1 on."""

LIMIT_MM: Mapping[tuple[int, int], float] = MappingProxyType(
    {(1, 2): 72.0, (2, 3): 66.0, (3, 4): 66.0, (1, 3): 103.0, (2, 4): 98.0, (1, 4): 130.0}
)
"""Two fingers: how far apart at most; index and little finger just reach frets 1 and 5."""

STRETCH = 1.2
"""The widest pair at its limit (less in proportion): a stretch is felt, yet less than a shape lifted."""

CRAMPED = 0.1
"""Neighbouring fingers, for each fret that they are closer than a finger a fret: they crowd."""

SAME_FRET_CROWD = 0.5
"""A third finger behind one fret: there is hardly room for three finger tips."""

TWISTED = 0.8
"""At one fret, the higher finger on the lower string: the hand must turn against its slant."""

WEAK: Mapping[int, float] = MappingProxyType({1: 0.0, 2: 0.0, 3: 0.1, 4: 0.3, 5: 1.2})
"""A finger set down: the little finger is weak, the thumb must reach round for the fifth string."""

THUMB_REACH_MM = 80.0
"""How far along the neck the thumb reaches round for the fifth string from where the index finger lies."""

THUMB_FAR = 4.0
"""The thumb set down farther away: the hand must leave its place to let it."""

OFF_ITS_FRET = 0.15
"""A finger set down, for each fret that it lies off its own where the hand stands."""

LEAN_MM = 38.0
"""How far a finger leans out of its own fret without the hand moving: a low fret."""

HIGH_FRET = 0.02
"""A finger set down, for each fret beyond the fifth: a plain place wins where all else is equal."""

# The left hand: setting down, holding, lifting, moving.

PLANT = 0.2
"""A finger set down anew. One that stays, or whose note comes again, costs nothing."""

LIFT = 0.5
"""A finger taken off a note inside a chord that no open string asks it to leave: the note stops ringing."""

LIFT_SHAPE = 1.0
"""The same for each finger where two or more come off at once: a held shape is given up."""

BARRE: Mapping[int, float] = MappingProxyType({1: 0.6, 2: 1.2, 3: 1.2, 4: 1.5})
"""One finger laid over two strings; the index does it best."""

BARRE_STRING = 0.1
"""Each further string under a barre: it must be pressed harder."""

BARRE_MOST: Mapping[int, int] = MappingProxyType({1: 5, 2: 2, 3: 3, 4: 2})
"""How many strings a finger can lie over."""

SHIFT = 0.4
"""The hand moves along the neck at all: the eye, or the ear, must aim."""

SHIFT_MM = 0.01
"""Each millimetre of it."""

GUIDED = 0.3
"""The share of a shift that is left where a sliding finger leads the hand."""

SHIFT_EASY_MM_A_SEC = 400.0
"""A shift no faster than this costs no more for its speed."""

SHIFT_LIMIT_MM_A_SEC = 1500.0
"""A hand does not move faster and arrive: three low frets between two eighths at 120."""

HURRY = 2.0
"""A shift at its limit of speed (less in proportion)."""

RINGS = 0.5
"""The share of its time to the next note for which a stopped note rings before the hand leaves it."""

NEW_STRING_AND_SHIFT = 1.5
"""A shift within one eighth that lands on another string: neither leads to the other."""

HOP = 1.5
"""One finger from string to string on consecutive eighths: it cuts its note off, and lands late."""

HOP_LEAST_SEC = 0.115
"""The quickest hop: eighths at 130."""

CROSSED_OVER = 4.0
"""A higher finger set down behind a lower one that was just used: no hand does so where another way is."""

CROSSED_OVER_QUARTERS = 1.5
"""For so long a hand keeps the order of its fingers: it does not set them down the wrong way round."""

GLIDE = 0.6
"""One finger to another fret of its string on consecutive eighths: it smears, or stops short."""

# The left hand: slurs and chokes.

SLUR = 0.1
"""A hammer-on or a pull-off: the finger must be quick."""

SLUR_LITTLE = 0.3
"""The same by the little finger: it is weak."""

SLUR_FAR = 0.6
"""The same over more than a whole step, for each fret beyond."""

SLUR_LEAST_SEC = 0.055
"""The quickest slur: half an eighth at 136."""

SLIDE = 0.2
"""A slide: it must stop at its fret."""

SLIDE_LIMIT_MM_A_SEC = 1500.0
"""The fastest slide."""

CHOKE: Mapping[int, float] = MappingProxyType({1: 1.0, 2: 0.2, 3: 0.2, 4: 0.6})
"""A choke by each finger: the middle and the ring finger have the strength, the index has least help."""

CHOKE_FRET = 0.4
"""Each half step that it pushes up."""

CHOKE_STRINGS = (1, 2, 3)
"""Strings that can be pushed up."""

# The right hand.

PICK: Mapping[str, Mapping[int, float]] = MappingProxyType(
    {
        "T": MappingProxyType({5: 0.0, 4: 0.0, 3: 0.2, 2: 0.9, 1: 5.0}),
        "I": MappingProxyType({5: 8.0, 4: 2.0, 3: 0.5, 2: 0.0, 1: 1.0}),
        "M": MappingProxyType({5: 13.0, 4: 6.0, 3: 3.0, 2: 1.2, 1: 0.0}),
    }
)
"""Finger, then string, to how far that string lies from where the finger rests.

The nearer to the first string, the more each finger gives way to the next: so no pinch crosses fingers.
"""

PICKED_AGAIN = 20.0
"""The same finger on strokes less than a quarter apart, where no tempo is known."""

PICKED_AGAIN_SLOWLY = 4.0
"""The same at a tempo where it can be done: it still breaks the roll."""

PICKED_AGAIN_AFTER_SLUR = 1.5
"""The same with a slur sounding in between: the finger has time to come back."""

PICKED_AGAIN_MOST_HALF_BPM = 70.0
"""Above this tempo a finger does not pick twice within a quarter."""

FINGER_FREE_QUARTERS = 1.0
"""From here on a finger has come back."""

THUMB_ON_ACCENT = 0.3
"""What a thumb stroke on an accent, or on a seven, is worth: the thumb is the heavy finger."""
