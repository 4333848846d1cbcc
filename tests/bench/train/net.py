"""The network in PyTorch, for training only: the same sums as `listener.network`, array for array."""

from __future__ import annotations

import numpy as np
import torch
from torch import nn

from listener.network import KIN, PITCHES, READ, heights, kinship, reading
from listener.views import BANDS, FACTS


class Net(nn.Module):
    """Log odds of each pitch at each strike.

    Parameters
    ----------
    features, shared, weighed : int
        Widths of the three layers.
    """

    def __init__(self, features: int, shared: int, weighed: int, dropout: float = 0.0) -> None:
        super().__init__()
        self.read = nn.Linear(READ, features)
        self.facts = nn.Linear(FACTS, features, bias=False)
        self.height = nn.Linear(2, features, bias=False)
        self.share = nn.Linear(features, shared)
        self.weigh = nn.Linear(features + len(KIN) * shared, weighed)
        self.say = nn.Linear(weighed, 1)
        self.drop = nn.Dropout(dropout)
        nn.init.constant_(self.say.bias, -4.0)
        self.register_buffer("places", torch.from_numpy(reading().reshape(-1)))
        self.register_buffer("kin", torch.from_numpy(kinship().reshape(-1)))
        self.register_buffer("heights", torch.from_numpy(heights()))

    def forward(self, views: torch.Tensor, facts: torch.Tensor) -> torch.Tensor:
        """Score.

        Parameters
        ----------
        views : Tensor, shape (n, VIEWS, BANDS)
            0 to 1.
        facts : Tensor, shape (n, FACTS)

        Returns
        -------
        Tensor, shape (n, PITCHES)
        """
        n, number, _ = views.shape
        padded = nn.functional.pad(views, (0, 1))
        read = padded[:, :, self.places].reshape(n, number, PITCHES, -1)
        read = read.permute(0, 2, 1, 3).reshape(n, PITCHES, READ)
        first = self.read(read) + self.height(self.heights) + self.facts(facts)[:, None, :]
        features = self.drop(torch.relu(first))
        shared = torch.relu(self.share(features))
        padded = nn.functional.pad(shared, (0, 0, 0, 1))
        kin = padded[:, self.kin].reshape(n, PITCHES, -1)
        weighed = self.drop(torch.relu(self.weigh(torch.cat([features, kin], dim=2))))
        odds: torch.Tensor = self.say(weighed)[:, :, 0]
        return odds

    def arrays(self) -> dict[str, np.ndarray]:
        """The weights as `listener.network.Network` takes them."""
        layers = {
            "read": self.read.weight.T, "read_bias": self.read.bias, "facts": self.facts.weight.T,
            "height": self.height.weight.T, "share": self.share.weight.T, "share_bias": self.share.bias,
            "weigh": self.weigh.weight.T, "weigh_bias": self.weigh.bias,
            "say": self.say.weight[0], "say_bias": self.say.bias,
        }  # fmt: skip
        return {name: layer.detach().cpu().numpy().astype(np.float32) for name, layer in layers.items()}


def coloured(
    views: torch.Tensor, most_db: float, range_db: float, generator: torch.Generator
) -> torch.Tensor:
    """Lay a smooth random colour, up to some decibels at its waves, over the views of each strike."""
    n = len(views)
    places = torch.linspace(0.0, 1.0, BANDS, device=views.device)
    waves = torch.arange(1, 7, device=views.device, dtype=torch.float32)
    phase = 2.0 * np.pi * torch.rand(n, len(waves), 1, generator=generator, device=views.device)
    height = (
        torch.randn(n, len(waves), 1, generator=generator, device=views.device) / waves[None, :, None] ** 0.5
    )
    curve = (height * torch.cos(np.pi * waves[None, :, None] * places + phase)).sum(dim=1)
    lifted = views + (most_db / 2.0 / range_db) * curve[:, None, :]
    return torch.where(views > 0.0, lifted, views).clamp(0.0, 1.0)
