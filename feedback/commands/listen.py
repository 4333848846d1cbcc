"""`listen LICK`: the lick as a model at any tempo, whole or some of it round and round, heard or written."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from feedback.clicking import CLICKS, click_kind
from feedback.clicking import words as click_words
from feedback.commands.options import (
    add_json,
    add_key,
    add_no_window,
    add_tempo,
    add_traffic,
    chosen,
    in_traffic,
    looped,
    seed,
    teller,
)
from feedback.errors import INTERRUPTED, Usage, leave_at_once, own_standard_error, tell
from feedback.nexttempo import EASED
from feedback.onethread import one_thread
from feedback.settings import add_setting_flag

if TYPE_CHECKING:
    import numpy as np

    from routines.lick import Lick

HELP = "hear a lick as a model, at any tempo, whole or some bars of it round and round"
EXAMPLE = """\
  sevenfall listen slab-wood-supper --tempo 60
  sevenfall listen slab-wood-supper --loop change --tempo 60
  sevenfall listen slab-wood-supper --loop 1-2 --rounds 8 -o supper.flac"""

ROUNDS = 2
"""How often a lick is played that is not looped, with a rest bar between."""

ROUNDS_IN_FILE = 4
"""How many rounds of a loop a file holds where nothing else is asked for."""

FILE_RATE = 44_100
"""Samples a second of a file where the settings name no rate."""

_MOST_ROUNDS = 64
_REST_BARS = 1
_FORMATS = (".wav", ".flac")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `listen`."""
    parser.add_argument("lick", help="its id (see sevenfall licks), or a .lick file")
    add_tempo(parser, help_text="half notes a minute, or quarters with a q (default: four fifths of its top)")
    parser.add_argument(
        "--loop",
        metavar="BARS",
        help="round and round: a bar (2), some bars (2-3), or change: the half bars before and after where "
        "the seven falls (change2: the second such place); until Ctrl-C, or as many --rounds",
    )
    add_key(parser)
    add_traffic(parser)
    parser.add_argument(
        "--rounds",
        type=seed,
        metavar="N",
        help=f"how often (default {ROUNDS} with a bar of rest between; a loop: without end, "
        f"in a file {ROUNDS_IN_FILE})",
    )
    parser.add_argument("--click", metavar="KIND", help=f"with a count-in and a click: {', '.join(CLICKS)}")
    parser.add_argument(
        "-o", dest="file", metavar="FILE", help="write it to a .wav or .flac file; no sound card is needed"
    )
    parser.add_argument(
        "--device", metavar="OUT", help="output, its number or a part of its name; a wrong one lists them"
    )
    add_no_window(parser)
    add_json(parser)
    add_setting_flag(parser)


def run(args: argparse.Namespace) -> int:
    """Show the lick and play it, or write it to a file and show what was written.

    Returns
    -------
    int
        0, or 130 where the player interrupted.

    Raises
    ------
    BadRoutine
        If there is no such lick, or it has no such part.
    Usage
        If an option's value is not accepted.
    OSError
        If the output cannot be opened, or the file cannot be written.
    """
    from feedback import settings
    from feedback.report import heading
    from feedback.tab_told import left_of_part, tab_told

    _check(args)
    values = settings.load(args.set)
    whole = chosen(args)
    around = in_traffic(whole, args)
    lick, _ = looped(around, args.loop)
    tempo = args.tempo or round(EASED * whole.top_tempo_half_bpm)
    say = teller(args)
    told = [heading(lick, tempo), "", *tab_told(lick, left_of_part(lick, around)), ""]
    if args.click is not None:
        told.append(f"  {click_words(args.click, lick, tempo)}")
    if args.file is None:
        say("\n".join(told))
        return _play(args, lick, tempo, values)
    rate = FILE_RATE if values["rate"] == "device" else int(values["rate"])
    rounds = args.rounds or (ROUNDS if args.loop is None else ROUNDS_IN_FILE)
    sound = _whole(args, lick, tempo, rate, rounds, values)
    _write(Path(args.file), sound, rate)  # before a line is told: who reads the lines may stop at the first
    say("\n".join([*told, f"Written: {args.file}, {len(sound) / rate:.1f} s"]))
    if args.json:
        print(_json(args, lick, tempo, rounds, rate, sound))
    return 0


def _check(args: argparse.Namespace) -> None:
    if args.rounds is not None and not 1 <= args.rounds <= _MOST_ROUNDS:
        raise Usage(f"--rounds {args.rounds}: give 1 to {_MOST_ROUNDS}")
    if args.click is not None:
        click_kind(args.click)
    if args.file is None:
        return
    if Path(args.file).suffix.lower() not in _FORMATS:
        raise Usage(f"-o {args.file}: accepted: a name that ends in {' or '.join(_FORMATS)}")
    if args.device is not None:
        raise Usage("--device is for playing: -o writes a file and needs no sound card")


def _play(args: argparse.Namespace, lick: Lick, tempo: float, values: dict[str, str | float]) -> int:
    from feedback.practice_report import LOUDNESS
    from feedback.speaking_out import Piece, rounds, speak, speaker

    one_thread()
    endless = args.loop is not None and args.rounds is None
    own_standard_error()
    output = speaker(args.device, values)
    output.start()
    code, count = 0, args.rounds or ROUNDS
    try:
        if not args.json:
            print(f"  {LOUDNESS}", flush=True)
            print(f"  {'round and round; ' if endless else ''}Ctrl-C ends", flush=True)
        pieces: Any
        if args.loop is None:
            pieces = [Piece(sound=_whole(args, lick, tempo, output.rate, count, values))]
        else:
            pieces = rounds(
                lick,
                tempo_half_bpm=tempo,
                rate=output.rate,
                count=args.rounds,
                level_db=float(values["model_db"]),
                click=args.click,
                click_db=float(values["click_db"]),
            )
        speak(output, pieces)
    except KeyboardInterrupt:
        code = INTERRUPTED
    finally:
        output.stop()
    if args.json:
        print(_json(args, lick, tempo, None if endless else count, output.rate, None))
    if code == INTERRUPTED:
        tell("interrupted")
    if output.hung:
        leave_at_once(code)
    return code


def _whole(
    args: argparse.Namespace,
    lick: Lick,
    tempo: float,
    rate: int,
    rounds: int,
    values: dict[str, str | float],
) -> np.ndarray:
    from feedback.modelling import model

    return model(
        lick,
        tempo_half_bpm=tempo,
        rate=rate,
        rounds=rounds,
        rest_bars=_rest_bars(args),
        level_db=float(values["model_db"]),
        click=args.click,
        click_db=float(values["click_db"]),
    )


def _rest_bars(args: argparse.Namespace) -> int:
    return _REST_BARS if args.loop is None and args.form is None else 0


def _write(path: Path, sound: np.ndarray, rate: int) -> None:
    from feedback.writing import beside
    from listener.storing import write_flac

    if path.suffix.lower() == ".flac":
        beside(path, lambda part: write_flac(part, sound, rate))
    else:
        beside(path, lambda part: _write_wav(part, sound, rate))


def _write_wav(path: Path, sound: np.ndarray, rate: int) -> None:
    """Mono, 16 bits, as every player takes it."""
    import wave

    import numpy as np

    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(np.round(32767.0 * np.clip(sound, -1.0, 1.0)).astype("<i2").tobytes())


def _json(
    args: argparse.Namespace, lick: Lick, tempo: float, rounds: int | None, rate: int, sound: Any
) -> str:
    """What was played or written; the notes are those of the first round where there is no end of them."""
    from feedback.modelling import model_notes
    from feedback.report import to_json

    notes = model_notes(
        lick,
        tempo_half_bpm=tempo,
        rounds=rounds or 1,
        rest_bars=_rest_bars(args),
        counted_in=args.click is not None,
    )
    return to_json(
        {
            "lick": lick.id,
            "title": lick.title,
            "key": lick.key,
            "tempo_half_bpm": tempo,
            "loop": args.loop,
            "rounds": rounds,
            "click": args.click,
            "file": args.file,
            "sample_rate": rate,
            "duration_sec": None if sound is None else len(sound) / rate,
            "notes": [{"onset_sec": sec, "midi": midi} for sec, midi in notes],
        }
    )
