"""Harbour houses side by side, in bands that repeat."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from demo.house import House, Street
from demo.roofs import add_roof


def street(
    width: float,
    base: float,
    height: tuple[float, float],
    seed: int,
    style: Street,
    lit_windows: float,
) -> Callable[[Any], None]:
    """A row of houses on a base line, one period of `width` long, in design units.

    lit_windows : share of windows with a light behind them.
    """
    rng = np.random.default_rng(seed)
    plots = []
    left = 0.0
    while left < width:
        plots.append((left, rng.uniform(95, 190) * style.size, rng.uniform(*height)))
        left += plots[-1][1]
    squeeze = width / left
    seeds = rng.integers(0, 2**31, len(plots)).tolist()

    def draw(canvas: Any) -> None:
        # Eaves and chimneys of the outermost houses reach across the seam.
        for k in (-1, *range(len(plots)), len(plots)):
            turn, index = divmod(k, len(plots))
            x, plot_width, plot_height = plots[index]
            house = House(
                canvas,
                turn * width + x * squeeze,
                base,
                plot_width * squeeze,
                plot_height,
                style,
                lit_windows,
                np.random.default_rng(seeds[index]),
            )
            add_roof(house)
            house.windows()

    return draw
