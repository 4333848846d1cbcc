"""Pictures as SVG: well formed, complete, and the same in words."""

from __future__ import annotations

import math
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedback.screen.inks import LOOKS
from feedback.screen.marks import Anchor, Box, Line, Mark, Picture, Ring, Shape, Sheet, Text
from feedback.screen.neck.picture import NeckState, neck_picture
from feedback.screen.svg import svg, write_svg

NS = "{http://www.w3.org/2000/svg}"

number = st.floats(-5000, 5000)
size = st.floats(0, 3000)
point = st.tuples(number, number)
ink = st.sampled_from(sorted(LOOKS["paper"]))
maybe = ink | st.just("")
any_text = st.text(max_size=20)
marks: st.SearchStrategy[Mark] = st.one_of(
    st.builds(
        Text, x=number, y=number, text=any_text, size=size, ink=ink, bold=st.booleans(),
        anchor=st.sampled_from(("left", "center", "right")),
    ),
    st.builds(
        Line, points=st.lists(point, min_size=2, max_size=5).map(tuple), thick=size, ink=ink,
        dashed=st.booleans(),
    ),
    st.builds(Shape, points=st.lists(point, min_size=3, max_size=6).map(tuple), fill=maybe, edge=maybe),
    st.builds(Ring, x=number, y=number, radius=size, fill=maybe, edge=maybe),
    st.builds(Box, x=number, y=number, wide=size, high=size, fill=maybe, edge=maybe, round=size),
)  # fmt: skip


def parsed(*drawn: Mark, look: str = "paper", **words: str) -> ET.Element:
    return ET.fromstring(svg(Picture(Sheet(), drawn), look, **words))


@given(st.lists(marks, max_size=6), st.sampled_from(sorted(LOOKS)))
def test_any_picture_is_well_formed_and_all_in_it(drawn: list[Mark], look: str) -> None:
    text = svg(Picture(Sheet(1000.5, 720), tuple(drawn)), look)
    root = ET.fromstring(text)
    assert len(root.findall(f"{NS}polyline")) == sum(isinstance(mark, Line) for mark in drawn)
    assert len(root.findall(f"{NS}polygon")) == sum(isinstance(mark, Shape) for mark in drawn)
    assert len(root.findall(f"{NS}circle")) == sum(isinstance(mark, Ring) for mark in drawn)
    assert len(root.findall(f"{NS}rect")) == 1 + sum(isinstance(mark, Box) for mark in drawn)
    assert len(root.findall(f"{NS}text")) == sum(isinstance(mark, Text) and mark.text != "" for mark in drawn)
    for element in root.iter():
        for name, value in element.attrib.items():
            if name in ("x", "y", "r", "cx", "cy", "width", "height", "font-size", "points", "stroke-width"):
                assert all(math.isfinite(float(n)) for n in re.split("[ ,]", value)), (name, value)
                assert name not in ("width", "height", "r") or float(value) >= 0


@given(any_text)
def test_texts_survive_but_for_what_xml_forbids(text: str) -> None:
    kept = "".join(char for char in text if char >= " " and char not in "\ufffe\uffff")
    found = parsed(Text(x=0, y=0, text="a" + text)).find(f"{NS}text")
    assert found is not None
    assert found.text == "a" + kept


def test_each_mark_by_hand() -> None:
    root = parsed(
        Text(x=10, y=20.125, text="F♯ < G & 3", size=28, ink="faint", bold=True, anchor="right"),
        Line(points=((0, 0), (10, 5)), thick=3, ink="rule", dashed=True),
        Line(points=((0, 0), (10, 5))),
        Shape(points=((0, 0), (4, 0), (2, 3)), fill="", edge="ink"),
        Ring(x=1, y=2, radius=3),
        Box(x=10, y=20, wide=30, high=40, fill="band", edge="rule", thick=4, round=6),
    )
    inks = {name: "#{:02x}{:02x}{:02x}".format(*rgb) for name, rgb in LOOKS["paper"].items()}
    ground, text, dashed, line, shape, ring, box = list(root)[2:]
    assert ground.attrib == {"width": "1280", "height": "720", "fill": inks["paper"]}
    assert text.text == "F♯ < G & 3"
    assert text.attrib["font-family"] == "'DejaVu Sans', sans-serif"
    assert (text.get("x"), text.get("y"), text.get("font-size")) == ("10", "20.12", "28")
    assert (text.get("text-anchor"), text.get("font-weight"), text.get("fill")) == (
        "end",
        "bold",
        inks["faint"],
    )
    assert dashed.get("stroke-dasharray") is not None
    assert dashed.get("points") == "0,0 10,5"
    assert line.get("stroke-dasharray") is None
    assert line.get("fill") == "none"
    assert (shape.get("fill"), shape.get("stroke")) == ("none", inks["ink"])
    assert (ring.get("cx"), ring.get("cy"), ring.get("r"), ring.get("fill")) == ("1", "2", "3", "none")
    assert [box.get(name) for name in ("x", "y", "width", "height", "rx")] == ["12", "22", "26", "36", "6"]
    assert (box.get("fill"), box.get("stroke"), box.get("stroke-width")) == (inks["band"], inks["rule"], "4")


@pytest.mark.parametrize(("anchor", "said"), [("left", "start"), ("center", "middle"), ("right", "end")])
def test_anchors(anchor: Anchor, said: str) -> None:
    found = parsed(Text(x=0, y=0, text="a", anchor=anchor)).find(f"{NS}text")
    assert found is not None
    assert found.get("text-anchor") == said


def test_words_for_who_cannot_see_it() -> None:
    picture = neck_picture(NeckState(symbol="C7"), Sheet(scale=2.0))
    root = ET.fromstring(svg(picture))
    assert root.get("viewBox") == "0 0 1280 720"
    assert (root.get("width"), root.get("height"), root.get("role")) == ("2560", "1440", "img")
    title, told = root.findtext(f"{NS}title"), root.findtext(f"{NS}desc")
    assert title == "C7"
    assert told is not None
    assert "♭7 B♭ falls to A, 3rd of F" in told
    assert [element.text for element in root.iter(f"{NS}text")] == list(picture.texts)
    own = parsed(title="a & b", told="<told>")
    assert (own.findtext(f"{NS}title"), own.findtext(f"{NS}desc")) == ("a & b", "<told>")


def test_looks() -> None:
    assert svg(Picture(Sheet(), ()), "night") != svg(Picture(Sheet(), ()), "paper")
    with pytest.raises(KeyError):
        svg(Picture(Sheet(), ()), "neon")


def test_written_whole_or_not_at_all(tmp_path: Path) -> None:
    picture = neck_picture(NeckState(), Sheet())
    path = tmp_path / "x.svg"
    write_svg(picture, path, "night")
    assert path.read_text(encoding="utf-8") == svg(picture, "night")
    assert [file.name for file in tmp_path.iterdir()] == ["x.svg"]
    with pytest.raises(FileNotFoundError):
        write_svg(picture, tmp_path / "none" / "x.svg")


def test_neither_pygame_nor_numpy_is_needed() -> None:
    code = (
        "import sys; from feedback.screen.svg import svg; from feedback.screen.marks import Sheet; "
        "from feedback.screen.neck.picture import NeckState, neck_picture; "
        "svg(neck_picture(NeckState(), Sheet())); "
        "print(sorted({'pygame', 'numpy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
