"""Inks: what is read stands out, and what is told apart stays apart for every eye.

Dichromacy is simulated twice, so that no verdict hangs on one model: by the matrices of Machado, Oliveira and
Fernandes (2009), "A physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15(6),
table of severity 1.0, and for protan and deutan eyes by projection along the confusion lines as in Viénot,
Brettel and Mollon (1999), "Digital video colourmaps for checking the legibility of displays by dichromats",
Color Research & Application 24(4). Both take linear RGB. Differences are CIEDE2000 (Sharma, Wu, Dalal 2005,
"The CIEDE2000 color-difference formula: implementation notes"), tried on pairs of theirs first.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from feedback.screen.inks import LOOKS, READ_ON, TOLD_APART
from tests.in_turn import in_turn

READ = 4.5  # WCAG 2.2, 1.4.3
DRAWN = 3.0  # WCAG 2.2, 1.4.11

APART = 15.0
"""CIEDE2000: about fifteen times what is just noticed between large patches; marks here are small."""

APART_GREY = 9.0
"""Lightness L*: marks of a quarter of a degree (a number of the tab, two metres away) want about 8 to be told
apart half of the time by an untrained eye (Stone, Szafir and Setlur 2014)."""

MACHADO = {
    "full": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}

CONES = np.array([[17.8824, 43.5161, 4.11935], [3.45565, 27.1554, 3.86714], [0.0299566, 0.184309, 1.46709]])
"""Linear RGB to the answers of the long, middle and short cones (Viénot et al. 1999, equation 4)."""


def _projected(lost: int) -> np.ndarray:
    """What an eye without one kind of cone sees: white and blue stay, all else moves along its confusion
    line onto the plane through them."""
    white, blue = CONES @ np.ones(3), CONES @ np.array([0.0, 0.0, 1.0])
    kept = [axis for axis in range(3) if axis != lost]
    weights = np.linalg.solve(np.array([white[kept], blue[kept]]), np.array([white[lost], blue[lost]]))
    seen = np.eye(3)
    seen[lost] = 0.0
    seen[lost, kept] = weights
    return np.linalg.inv(CONES) @ seen @ CONES


EYES = {**MACHADO, "protan, projected": _projected(0), "deutan, projected": _projected(1)}
LOST = {"protan": 0, "deutan": 1, "tritan": 2, "protan, projected": 0, "deutan, projected": 1}


def linear(rgb: tuple[int, int, int]) -> np.ndarray:
    c = np.asarray(rgb) / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def luminance(rgb: tuple[int, int, int]) -> float:
    return float(linear(rgb) @ (0.2126, 0.7152, 0.0722))


def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def lab(rgb_linear: np.ndarray) -> np.ndarray:
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    t = to_xyz @ np.clip(rgb_linear, 0.0, 1.0) / (to_xyz @ np.ones(3))
    x, y, z = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def ciede2000(one: np.ndarray, other: np.ndarray) -> float:
    (l1, a1, b1), (l2, a2, b2) = map(float, one), map(float, other)
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    stretch = 1.5 - 0.5 * math.sqrt(mean**7 / (mean**7 + 25.0**7))
    a1, a2 = stretch * a1, stretch * a2
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = math.degrees(math.atan2(b1, a1)) % 360, math.degrees(math.atan2(b2, a2)) % 360
    turn = (h2 - h1 + 180) % 360 - 180 if c1 * c2 else 0.0
    dh = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn) / 2)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    hue = h1 + turn / 2 if c1 * c2 else h1 + h2

    def cos(degrees: float) -> float:
        return math.cos(math.radians(degrees))

    t = 1 - 0.17 * cos(hue - 30) + 0.24 * cos(2 * hue) + 0.32 * cos(3 * hue + 6) - 0.2 * cos(4 * hue - 63)
    sl = 1 + 0.015 * (light - 50) ** 2 / math.sqrt(20 + (light - 50) ** 2)
    sc, sh = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    bend = math.radians(60 * math.exp(-(((hue % 360 - 275) / 25) ** 2)))
    rt = -math.sin(bend) * 2 * math.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    parts = ((l2 - l1) / sl, (c2 - c1) / sc, dh / sh)
    return math.sqrt(sum(part**2 for part in parts) + rt * parts[1] * parts[2])


@pytest.mark.parametrize(
    ("one", "other", "far"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
        ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0011), 7.2195),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
        ((2.0776, 0.0795, -1.135), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_the_measure_gives_the_published_differences(one, other, far):
    assert ciede2000(np.array(one), np.array(other)) == pytest.approx(far, abs=1e-4)
    assert ciede2000(np.array(other), np.array(one)) == pytest.approx(far, abs=1e-4)


def test_contrast_is_that_of_the_guidelines():
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.54, abs=0.01)
    assert contrast((9, 90, 200), (9, 90, 200)) == 1.0


@pytest.mark.parametrize("eye", EYES)
def test_every_simulated_eye_sees_greys_as_they_are(eye):
    for grey in (0.0, 0.2, 0.7, 1.0):
        assert EYES[eye] @ np.full(3, grey) == pytest.approx(np.full(3, grey), abs=2e-3)


@pytest.mark.parametrize("eye", LOST)
def test_what_only_the_lost_cone_tells_apart_is_confused(eye):
    # Two colours for which the other two cones answer alike, far apart for a full eye.
    way = np.linalg.inv(CONES)[:, LOST[eye]]
    way = way / np.abs(way).max()
    one, other = 0.4 + 0.3 * way, 0.4 - 0.3 * way
    full = ciede2000(lab(one), lab(other))
    seen = ciede2000(lab(EYES[eye] @ one), lab(EYES[eye] @ other))
    assert full > 25.0
    assert seen < 0.3 * full


@pytest.mark.parametrize("eye", ["protan", "deutan"])
def test_both_simulations_of_an_eye_agree(eye):
    for rgb in itertools.product((0.1, 0.5, 0.9), repeat=3):
        one, other = MACHADO[eye] @ rgb, EYES[f"{eye}, projected"] @ rgb
        assert ciede2000(lab(one), lab(other)) < 15.0


@in_turn("look", LOOKS)
@in_turn(("ink", "on"), READ_ON)
def test_what_is_written_can_be_read(look, ink, on):
    assert contrast(LOOKS[look][ink], LOOKS[look][on]) >= READ


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("on", ["paper", "band"])
def test_the_lines_of_the_tab_are_seen(look, on):
    assert contrast(LOOKS[look]["rule"], LOOKS[look][on]) >= DRAWN


@in_turn("look", LOOKS)
@in_turn(("one", "other"), TOLD_APART)
def test_what_is_told_apart_stays_apart(look, one, other):
    a, b = linear(LOOKS[look][one]), linear(LOOKS[look][other])
    far = {eye: ciede2000(lab(seen @ a), lab(seen @ b)) for eye, seen in EYES.items()}
    assert min(far.values()) >= APART, far
    grey = [lab(np.full(3, luminance(LOOKS[look][ink])))[0] for ink in (one, other)]
    assert abs(grey[0] - grey[1]) >= APART_GREY


def test_looks_have_the_same_inks():
    paper, night = LOOKS["paper"], LOOKS["night"]
    assert paper.keys() == night.keys()
    assert {ink for pair in (*READ_ON, *TOLD_APART) for ink in pair} <= paper.keys()
    assert luminance(paper["paper"]) > 0.8
    assert luminance(night["paper"]) < 0.02
