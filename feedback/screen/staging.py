"""What a screen is to the frame that shows it, and what it may ask for.

A screen is one module in `feedback/screen/screens/` and one row of its table. It offers `enter(house, what)`,
which returns something that behaves as `Screen`: it holds its state, hands out pictures of it, and answers to
what was chosen or pressed. The frame (`feedback.screen.frame`) owns window, focus and keys.

Keys are named in small letters: "up", "down", "left", "right", "page up", "space", "enter", "f5" and so on;
what types a character is that character ("a", "#"). The frame itself uses tab, the arrows (they move the
focus), enter and space (they choose what has it), escape (back), f11 (full screen), and the two keys of a
pedal; a screen is asked first, and returns True where it has used a key.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from feedback.screen.marks import Picture, Sheet

if TYPE_CHECKING:
    from feedback.backstage import Backstage
    from feedback.performing import Asked


@dataclass(frozen=True, slots=True)
class Go:
    """Open another screen over this one.

    Attributes
    ----------
    to : str
        A row of `feedback.screen.screens.SCREENS`.
    what : object
        What that screen's `enter` is given.
    instead : bool
        Whether it takes the place of this one.
    """

    to: str
    what: Any = None
    instead: bool = False


@dataclass(frozen=True, slots=True)
class Leave:
    """Close this screen and go back to the one under it; the last one closes the window."""


@dataclass(frozen=True, slots=True)
class Quit:
    """Close the window."""


Move = Go | Leave | Quit | None


class Screen(Protocol):
    """One screen."""

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """What is to be seen now; `focus` is the `does` of the spot that has it, empty for none."""
        ...

    def act(self, does: str) -> Move:
        """The spot with this `does` was chosen."""
        ...

    def press(self, key: str) -> Move | bool:
        """A key was pressed; False where it is nothing to this screen."""
        ...

    def tick(self) -> Move:
        """Called once a frame, before the picture."""
        ...

    def close(self) -> None:
        """The screen is left for good: end what runs for it."""
        ...


@dataclass(slots=True, kw_only=True)
class House:
    """What screens share.

    Attributes
    ----------
    values : dict
        The settings as they hold now (`feedback.settings.load`); the settings screen changes it.
    clock : callable
        Seconds that pass.
    device : str or None
        As `--device` has it.
    store : callable
        Stores changed settings, name to value as text; raises OSError where it cannot.
    hung : bool
        Whether something hangs in the sound library: then the program must not wait for it when it leaves.
    asked : Asked or None
        How the command line asked to practise; what is practised later in the window goes by it, too.
    begun : list of Backstage
        Every practice that was begun, in order: the next one waits until those before it have ended.
    trouble : str
        Why the screen at a microphone that was left last could not go on, in a line; empty where it could.
    """

    values: dict[str, str | float]
    clock: Callable[[], float]
    device: str | None = None
    store: Callable[[Mapping[str, str]], None] = field(default=lambda changed: None)
    hung: bool = False
    asked: Asked | None = None
    begun: list[Backstage] = field(default_factory=list)

    @property
    def ending(self) -> bool:
        """Whether a practice runs, or is about to end."""
        return any(one.alive for one in self.begun)

    trouble: str = ""
