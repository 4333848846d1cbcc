"""Which two devices are meant by a name, a number, or nothing, and the line that each refusal is told in."""

from __future__ import annotations

import pytest

from listener.devices import Asked, Device, chosen, code_of, in_words, said, same
from listener.errors import DeviceTrouble, WrongDevice
from tests.in_turn import in_turn


def _device(number: int, name: str, inputs: int, outputs: int) -> Device:
    return Device(number=number, name=name, system="ALSA", inputs=inputs, outputs=outputs, rate=44100.0)


LISTED = [
    _device(0, "Monitor (hw:0,3)", 0, 2),
    _device(1, "Room microphone", 2, 0),
    _device(2, "Headset", 1, 2),
    _device(3, "USB Interface", 4, 4),
    _device(4, "Headset (bluetooth)", 1, 2),
    _device(5, "Speakers", 0, 2),
]
MIC, SPEAKERS = LISTED[1], LISTED[5]


@in_turn(
    ("device", "source", "sink"),
    [
        (None, 1, 5),  # what the system prefers
        ("", 1, 5),
        ("/", 1, 5),
        ("room", 1, 5),  # goes one way only: the other as preferred
        ("1", 1, 5),
        ("USB", 3, 3),
        ("interface", 3, 3),
        ("3", 3, 3),  # a number is no part of a name: not the "hw:0,3" of number 0
        ("Headset", 2, 2),  # the whole name before a part of it
        ("BLUETOOTH", 4, 4),
        ("room/usb", 1, 3),
        ("3/0", 3, 0),
        ("/monitor", 1, 0),
        ("usb/", 3, 3),
        ("1/hw:0,3", 1, 0),
    ],
)
def test_microphone_and_output_are_those_asked_for(device: str | None, source: int, sink: int) -> None:
    found = chosen(Asked(device=device), LISTED, (1, 5))
    assert [one.number for one in found] == [source, sink]


@in_turn(
    ("device", "line"),
    [
        (
            "banjo",
            "--device, microphone 'banjo': none such; there are 1 'Room microphone'",
        ),
        (
            "head",
            "--device, microphone 'head': more than one; there are 2 'Headset'",
        ),
        ("monitor", "--device, microphone 'monitor': none such; there are 1 'Room microphone' (ALSA)"),
        ("0", "--device, microphone '0': none such; there are 1 'Room microphone' (ALSA)"),
        (
            "usb/room",
            "--device, output 'room': none such; there are 0 'Monitor (hw:0,3)' (ALSA), 2 'Headset' (ALSA)",
        ),
        (
            "usb/head",
            "--device, output 'head': more than one; there are 2 'Headset'",
        ),
        ("usb/1", "--device, output '1': none such; there are 0 'Monitor (hw:0,3)' (ALSA)"),
        ("usb/9", "--device, output '9': none such; there are 0 'Monitor (hw:0,3)' (ALSA)"),
    ],
)
def test_none_such_and_more_than_one_are_told_with_what_there_is(device: str, line: str) -> None:
    with pytest.raises(WrongDevice) as caught:
        chosen(Asked(device=device), LISTED, (1, 5))
    assert str(caught.value).startswith(line)
    assert "\n" not in str(caught.value)


def test_a_microphone_that_fits_more_than_one_output_asks_which() -> None:
    listed = [_device(0, "USB in", 1, 0), _device(1, "USB left", 0, 2), _device(2, "USB right", 0, 2)]
    with pytest.raises(WrongDevice, match=r"'usb': more than one; there are 1 'USB left' \(ALSA\), 2"):
        chosen(Asked(device="usb"), listed, (0, 1))


@pytest.mark.parametrize("preferred", [(-1, -1), (5, 1), (99, 99)])
def test_without_a_preference_that_serves_the_first_that_does_is_taken(preferred: tuple[int, int]) -> None:
    assert chosen(Asked(), LISTED, preferred) == (MIC, LISTED[0])


def test_the_channel_must_be_one_of_the_microphones() -> None:
    assert chosen(Asked(channel=4, device="usb"), LISTED)[0].number == 3
    with pytest.raises(WrongDevice, match=r"^USB Interface: channel 5; it has 1 to 4$"):
        chosen(Asked(channel=5, device="usb"), LISTED)


@pytest.mark.parametrize(
    ("listed", "device", "line"),
    [
        ([], None, "no sound device: plug one in, or start the sound server"),
        ([SPEAKERS], None, "no microphone: plug one in, or choose one with --device"),
        ([MIC], None, "no output: plug one in, or choose one with --device"),
        ([MIC], "room", "no output: plug one in, or choose one with --device"),
        ([SPEAKERS], "speak", "--device, microphone 'speak': none such; there are none"),
    ],
)
def test_what_is_not_there_at_all_is_told(listed: list[Device], device: str | None, line: str) -> None:
    with pytest.raises((DeviceTrouble, WrongDevice)) as caught:
        chosen(Asked(device=device), listed, (1, 5))
    assert str(caught.value) == line
    assert isinstance(caught.value, WrongDevice) is (device == "speak")


@pytest.mark.parametrize(
    ("code", "line"),
    [
        (-9997, "refuses 44100 and 48000 Hz"),
        (-9998, "has not the channels that are needed, one in and one out"),
        (-9996, "is not there any more"),
        (-9993, "cannot be opened together: choose microphone and output of one sound system"),
        (-9985, "busy or gone: another program may hold it; close that one, or choose another with --device"),
        (-9999, "cannot be opened: Error opening Stream: {bad} host"),
    ],
)
def test_each_code_has_its_line(code: int, line: str) -> None:
    error = Exception("Error opening\nStream:  {bad} host", code)
    assert in_words(error, MIC, SPEAKERS, (44100, 48000)) == f"Room microphone and Speakers: {line}"
    assert in_words(error, MIC, MIC, (44100, 48000)) == f"Room microphone: {line}"


def test_an_error_without_a_code_is_told_in_its_own_words() -> None:
    assert in_words(Exception("no luck"), MIC, MIC, (44100,)) == "Room microphone: cannot be opened: no luck"
    assert (code_of(Exception("no luck")), code_of(Exception("no luck", -1))) == (None, -1)
    assert (said(Exception()), said(Exception(" two\n lines ", -1))) == ("", "two lines")


def test_one_rate_is_told_as_one() -> None:
    assert in_words(Exception("", -9997), MIC, MIC, (48000,)) == "Room microphone: refuses 48000 Hz"


def _of(system: str, number: int, name: str, inputs: int, outputs: int) -> Device:
    return Device(number=number, name=name, system=system, inputs=inputs, outputs=outputs, rate=48000.0)


TWICE = [
    _of("MME", 0, "Microphone (USB)", 1, 0),
    _of("MME", 1, "Speakers", 0, 2),
    _of("WASAPI", 2, "Microphone (USB)", 1, 0),
    _of("WASAPI", 3, "Speakers", 0, 2),
    _of("WASAPI", 4, "Headphones", 0, 2),
]


@pytest.mark.parametrize(
    ("device", "numbers"),
    [("2", (2, 3)), ("0", (0, 1)), ("2/4", (2, 4)), ("2/headph", (2, 4)), (None, (0, 1))],
)
def test_the_output_is_of_the_microphones_system(device: str | None, numbers: tuple[int, int]) -> None:
    found = chosen(Asked(device=device), TWICE, (0, 1))
    assert tuple(one.number for one in found) == numbers


def test_the_systems_choice_holds_within_one_system() -> None:
    found = chosen(Asked(device="2"), TWICE, (0, 4))
    assert found[1].number == 4


def test_a_name_that_two_systems_have_is_told_with_the_systems() -> None:
    with pytest.raises(
        WrongDevice, match=r"0 'Microphone \(USB\)' \(MME\), 2 'Microphone \(USB\)' \(WASAPI\)"
    ):
        chosen(Asked(device="usb"), TWICE, (0, 1))


def test_what_comes_back_is_known_by_name_and_system() -> None:
    known = (TWICE[2], TWICE[4])
    again = [
        _of("MME", 0, "Microphone (USB)", 1, 0),
        _of("WASAPI", 1, "Headphones", 0, 2),
        _of("WASAPI", 2, "Webcam", 1, 0),
        _of("WASAPI", 3, "Microphone (USB)", 1, 0),
    ]
    assert [one.number for one in same(known, again)] == [3, 1]
    with pytest.raises(DeviceTrouble, match=r"USB.*not there any more"):
        same(known, again[:3])
    with pytest.raises(DeviceTrouble, match="Headphones"):
        same(known, [again[3], _of("WASAPI", 1, "Headphones", 1, 0)])
