"""Learning a weigher: from what it sees of pitches to whether they were begun."""

from __future__ import annotations

import numpy as np
import torch
from torch import nn

from tests.bench.train.weighing import Rows

FEATURES, WEIGHED = 48, 24
"""Widths of its layers."""

_EPOCHS, _BATCH, _PACE, _DECAY = 12, 4096, 4e-3, 1e-4


def trusted(rows: Rows, *, seed: int) -> tuple[dict[str, np.ndarray], float]:
    """Learn.

    Parameters
    ----------
    rows : Rows
    seed : int

    Returns
    -------
    dict of str to ndarray, float
        Arrays as `listener.weigher.Weigher` takes them, and the loss in the last epoch.
    """
    torch.manual_seed(seed)
    seen, begun = torch.from_numpy(rows.seen), torch.from_numpy(rows.begun.astype(np.float32))
    see, weigh, say = (
        nn.Linear(seen.shape[1], FEATURES),
        nn.Linear(FEATURES, WEIGHED),
        nn.Linear(WEIGHED, 1),
    )
    net = nn.Sequential(see, nn.ReLU(), weigh, nn.ReLU(), say)
    batch = min(_BATCH, len(seen))
    batches = len(seen) // batch
    steps = torch.optim.AdamW(net.parameters(), lr=_PACE, weight_decay=_DECAY)
    course = torch.optim.lr_scheduler.OneCycleLR(
        steps, _PACE, total_steps=_EPOCHS * batches + 1, pct_start=0.1
    )
    total = 0.0
    for _ in range(_EPOCHS):
        order, total = torch.randperm(len(seen)), 0.0
        for number in range(batches):
            chosen = order[number * batch : (number + 1) * batch]
            loss = nn.functional.binary_cross_entropy_with_logits(net(seen[chosen])[:, 0], begun[chosen])
            steps.zero_grad()
            loss.backward()
            steps.step()
            course.step()
            total += float(loss.detach())
    arrays = {
        "see": see.weight.T, "see_bias": see.bias, "weigh": weigh.weight.T, "weigh_bias": weigh.bias,
        "say": say.weight[0], "say_bias": say.bias,
    }  # fmt: skip
    plain = {name: np.ascontiguousarray(array.detach().numpy(), np.float32) for name, array in arrays.items()}
    return plain, total / batches
