"""Learning: the network's weights from examples, on a graphics card or on the processor.

The problem: banjos differ in colour far more than in how strings behave. So each batch is coloured anew by
smooth random curves, the same for all views of a strike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import torch

from listener.adapting import EITHER, YES
from listener.views import RANGE_DB
from tests.bench.train.gather import Gathered
from tests.bench.train.net import Net, coloured


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How it is learnt.

    Attributes
    ----------
    features, shared, weighed : int
        Widths of the layers.
    epochs, batch : int
    pace, decay : float
        Greatest step of AdamW, and its weight decay.
    colour_db : float
        How strongly each strike is coloured.
    noise : float
        Standard deviation added to the views (1 is their whole range).
    dropout : float
    begun_weight : float
        What a pitch that was begun counts against one that was not.
    blind : tuple of int
        Views that are taken away, to see what they are worth.
    seed : int
    """

    features: int = 256
    shared: int = 24
    weighed: int = 96
    epochs: int = 20
    batch: int = 2048
    pace: float = 3e-3
    decay: float = 1e-3
    colour_db: float = 12.0
    noise: float = 0.0
    dropout: float = 0.0
    begun_weight: float = 1.0
    blind: tuple[int, ...] = ()
    seed: int = 0


RECIPES = {
    "early": Recipe(features=128, shared=20, weighed=80),
    "middle": Recipe(features=128, shared=20, weighed=80),
    "full": Recipe(),
}
"""Name of a look (`listener.views.LOOKS`) to how its network is learnt: early words must be cheap, too."""


def learnt(examples: Gathered, recipe: Recipe, *, say: bool = False) -> Net:
    """Learn.

    Parameters
    ----------
    examples : Gathered
    recipe : Recipe
    say : bool
        Print the loss of each epoch.

    Returns
    -------
    Net
        On the processor.
    """
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(recipe.seed)
    dice = torch.Generator(device=device).manual_seed(recipe.seed)
    order_dice = torch.Generator().manual_seed(recipe.seed)
    net = Net(recipe.features, recipe.shared, recipe.weighed, recipe.dropout).to(device)
    views, facts, labels = (torch.from_numpy(a).to(device) for a in _arrays(examples))
    batches = max(1, len(views) // recipe.batch)
    steps = torch.optim.AdamW(net.parameters(), lr=recipe.pace, weight_decay=recipe.decay)
    course = torch.optim.lr_scheduler.OneCycleLR(
        steps, recipe.pace, total_steps=recipe.epochs * batches + 1, pct_start=0.1
    )
    for epoch in range(recipe.epochs):
        order = torch.randperm(len(views), generator=order_dice).to(device)
        total = torch.zeros((), device=device)
        for number in range(batches):
            rows = order[number * recipe.batch : (number + 1) * recipe.batch]
            seen = coloured(views[rows].float() / 255.0, recipe.colour_db, RANGE_DB, dice)
            if recipe.noise:
                noise = torch.randn(seen.shape, generator=dice, device=device)
                seen = (seen + recipe.noise * noise).clamp(0.0, 1.0)
            seen[:, list(recipe.blind)] = 0.0
            begun, asked = labels[rows] == YES, labels[rows] != EITHER
            weight = asked.float() * (1.0 + (recipe.begun_weight - 1.0) * begun.float())
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                odds = net(seen, facts[rows])
            loss = torch.nn.functional.binary_cross_entropy_with_logits(
                odds.float(), begun.float(), weight, reduction="sum"
            ) / len(rows)
            steps.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
            steps.step()
            course.step()
            total += loss.detach()
        if say:
            print(f"  epoch {epoch + 1:2} loss {float(total) / batches:.4f}", flush=True)
    return net.cpu().eval()


def confidences(net: Net, examples: Gathered, blind: tuple[int, ...] = ()) -> np.ndarray:
    """What a network says of examples; shape (n, PITCHES), float32, 0 to 1; `blind` as in `Recipe`."""
    device = "cuda" if torch.cuda.is_available() else "cpu"
    net = net.to(device).eval()
    views, facts, _ = _arrays(examples)
    said = []
    with torch.no_grad():
        for at in range(0, len(views), 2048):
            seen = torch.from_numpy(views[at : at + 2048]).to(device).float() / 255.0
            seen[:, list(blind)] = 0.0
            odds = net(seen, torch.from_numpy(facts[at : at + 2048]).to(device))
            said.append(torch.sigmoid(odds).cpu().numpy())
    net.cpu()
    return np.concatenate(said)


def _arrays(examples: Gathered) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return examples.views, examples.facts, examples.labels
