"""Milliseconds of drawing per picture, for each style: python tests/bench/drawing.py

Nothing is composed or encoded: this is the time in which an overlay hands out its patches,
with everything it draws on the way. The first picture carries the setting up.
"""

from __future__ import annotations

import time

import numpy as np

from pacerail.draw.overlay import Overlay
from pacerail.draw.style import load_style, style_names
from tests.draw.made_tracks import eventful_spans, make_track

REFRESHES = 3600
SIZES = ((1920, 1080), (3840, 2160))


def main() -> None:
    """Print one line per style, number of platforms and canvas."""
    spans = [span for seed in range(10) for span in eventful_spans(seed)]
    tracks = [make_track(spans, "Merle"), make_track(spans[::-1], "Wren")]
    refreshes = min(tracks[0].series.refreshes, REFRESHES)
    print(f"ms per picture over {refreshes} pictures of eventful timing")
    print("style   platforms  canvas     cpu mean  mean  median    p99     max  set up")
    for style in style_names():
        for count in (1, 2):
            for width, height in SIZES:
                started = time.perf_counter()
                overlay = Overlay(
                    tracks[:count],
                    load_style(style),
                    width,
                    height,
                    first_refresh=0,
                    end_refresh=refreshes,
                )
                overlay.patches(0)
                set_up = 1000.0 * (time.perf_counter() - started)
                marks = np.empty(refreshes)
                cpu = time.thread_time()
                for refresh in range(refreshes):
                    started = time.perf_counter()
                    overlay.patches(refresh)
                    marks[refresh] = 1000.0 * (time.perf_counter() - started)
                cpu = 1000.0 * (time.thread_time() - cpu) / refreshes
                print(
                    f"{style:7} {count:9}  {width}x{height:<5} {cpu:8.3f} {marks.mean():6.3f} "
                    f"{np.median(marks):7.3f} {np.percentile(marks, 99):6.2f} "
                    f"{marks.max():7.2f} {set_up:7.1f}"
                )


if __name__ == "__main__":
    main()
