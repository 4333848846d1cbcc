"""From what is asked to a practice on its own thread, with a microphone or the simulated player.

It prints what the terminal path prints, line by line, whether a window shows it or not: so a screen reader
has every fact, and what was played is told even where the window goes away.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from feedback.backstage import Backstage
from feedback.judges.limits import Limits
from feedback.nexttempo import EASED
from feedback.practice_request import PracticeRequest
from feedback.session import PASSES_A_TURN, REST_BARS
from feedback.settings import limits
from feedback.wishes import Wishes
from routines.excerpt import span_of
from routines.lick import Lick
from routines.traffic import around, goes_round

if TYPE_CHECKING:
    from feedback.aloud import Aloud
    from feedback.company import Company
    from feedback.playing_live import LivePlay
    from feedback.simulated import SimulatedPractice

SPEEDS: Mapping[str, float] = {"full": 1.0, "half": 0.5}
"""At which speed the last pass may be heard again."""

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is to be played along with, and how.

    Attributes
    ----------
    whole : Lick
    values : mapping
        The settings.
    source : {"mic", "sim", "file"}
        Who plays; "file" is a recording, which is judged and not practised.
    loop : str or None
        Which part of the lick goes round and round, as `routines.excerpt.span_of` reads it.
    way : str
        How it is played in traffic, a row of `routines.traffic.WAYS`; empty for the lick by itself. A loop is
        one of the lick by itself.
    tempo_half_bpm : float or None
        None for `EASED` of the lick's top.
    passes, turns : int, int or None
        As in `PracticeRequest`.
    click : str
    backing, model : bool
    hear_last : str or None
        A row of `SPEEDS`.
    keep : pathlib.Path or None
        Where takes are stored.
    typed : str
        Flags that an offered command keeps.
    device, instrument : str or None
        As the command line names them.
    mistakes : sequence of str, or of sequences of str
        Of the simulated player: in every pass, or for each of them.
    seed : int
    start_sec : float or None
        Of a recording: where its first pass is asked for; None where it is looked for.
    waits : bool
        Whether the practice waits for the player instead of ending, and the simulated player between turns.
    player : str or None
        Whose passes are remembered; None for the one of the settings, and then only what a microphone hears.
    warm_up : str
        The warm-up that is played, a row of `routines.warmups.table.WARM_UPS`; empty for none. Its first lick
        is `whole`.
    """

    whole: Lick
    values: Mapping[str, str | float]
    source: Literal["mic", "sim", "file"] = "mic"
    loop: str | None = None
    way: str = ""
    tempo_half_bpm: float | None = None
    passes: int = PASSES_A_TURN
    turns: int | None = None
    click: str = "halves"
    backing: bool = False
    model: bool = False
    hear_last: str | None = None
    keep: Path | None = None
    typed: str = ""
    device: str | None = None
    instrument: str | None = None
    mistakes: Sequence[Sequence[str]] = field(default=())
    seed: int = 1
    start_sec: float | None = None
    waits: bool = False
    player: str | None = None
    warm_up: str = ""

    @property
    def request(self) -> PracticeRequest:
        """What is practised.

        Raises
        ------
        routines.errors.BadRoutine
            If the lick has no such part, or no place in such a form.
        """
        span = None if self.loop is None else span_of(self.loop, self.whole)
        whole = self.whole if span is not None else around(self.whole, self.way)
        lick = whole if span is None else span.of(whole)
        values = self.values
        return PracticeRequest(
            lick=lick,
            tempo_half_bpm=self.tempo_half_bpm or round(EASED * lick.top_tempo_half_bpm),
            passes=self.passes,
            turns=self.turns,
            click=self.click,
            click_db=float(values["click_db"]),
            limits=self.limits,
            keep=self.keep is not None,
            rest_sec=float(values["rest_sec"]),
            rest_bars=0 if span is not None or goes_round(self.way) else REST_BARS,
            backing=self.backing,
            backing_db=float(values["backing_db"]),
            model=self.model,
            model_db=float(values["model_db"]),
            rehear=None if self.hear_last is None else SPEEDS[self.hear_last],
            whole=whole,
            span=span,
            typed=self.typed,
            title=self.whole.title,
            way="" if span is not None else self.way,
            cue=self.waits and self.source == "mic" and values["cue"] == "on",
        )

    @property
    def limits(self) -> Limits:
        """The judges' limits that the settings ask for."""
        return limits(self.values)


def performing(asked: Asked, say: Say) -> Backstage:
    """A practice, ready to be started.

    Parameters
    ----------
    asked : Asked
    say : callable
        Prints a line.

    Raises
    ------
    OSError, Usage, routines.errors.BadRoutine
        What is wrong with what is asked; a device is looked for only once it is started.
    """
    from feedback.accompanying import accompanied
    from feedback.aloud import aloud
    from feedback.playing_simulated import SimulatedPlay

    wishes = Wishes()
    request, company = accompanied(asked, wishes)
    if asked.source == "mic":
        return Backstage(live_work(asked, request, wishes, say, company), request, wishes)
    heard = aloud(asked.device, asked.values)
    work = SimulatedPlay(asked, wishes, say, heard, request=request, company=company)
    return Backstage(work, request, wishes)


def live_work(
    asked: Asked, request: PracticeRequest, wishes: Wishes | None, say: Say, company: Company | None = None
) -> LivePlay:
    """Practising at a microphone, with whatever it prints and stores; nothing is opened yet.

    Raises
    ------
    OSError
        If the folder for takes cannot be made or written to.
    Usage
        If no instrument of that name is known.
    """
    from feedback.commands.options import ear_settings
    from feedback.keeping import prepare
    from feedback.playing_live import LivePlay
    from feedback.soundcard import asked_stream, microphone

    if asked.keep is not None:
        prepare(asked.keep)
    live = microphone(
        asked_stream(asked.device, asked.values),
        asked.values,
        ear=ear_settings(asked.instrument),
        keep=request.keep or request.rehear is not None,
    )
    return LivePlay(request, live, say, asked.keep, wishes=wishes, company=company, waits=asked.waits)


def simulated(
    asked: Asked,
    wishes: Wishes | None = None,
    aloud: Aloud | None = None,
    request: PracticeRequest | None = None,
    **clockwork: Callable[..., Any],
) -> SimulatedPractice:
    """The simulated player's practice, heard by `aloud`.

    Parameters
    ----------
    asked : Asked
    wishes : Wishes, optional
    aloud : Aloud, optional
    request : PracticeRequest, optional
        What is practised, where that is not all said by `asked`.
    **clockwork : callable
        May bring another `clock` and `wait`.
    """
    from feedback.simulated import SimulatedPractice

    request = request or asked.request
    mistakes = asked.mistakes or ((),) * request.passes
    return SimulatedPractice(
        replace(request, rest_sec=0.0),
        mistakes=mistakes,
        seed=asked.seed,
        wishes=wishes,
        waits=asked.waits,
        aloud=aloud,
        **clockwork,
    )
