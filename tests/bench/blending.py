"""Time of blending one rail into a 1080p picture, beside the whole-picture RGB route.

Run as ``python -m tests.bench.blending``. Prints milliseconds of CPU per picture (the least of
several repeats, so that others on the machine hardly count) for each pixel format, with the
images already converted, as they are in all but a few pictures of a render; then the time to
convert one image; then the route that turns the whole picture to RGB, paints, and turns it
back.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import av
import numpy as np

from pacerail.compose.blend import Blender
from pacerail.compose.colour import signal_from_tags
from pacerail.compose.layout import LAYOUTS, PixelLayout, component_views
from pacerail.compose.planes import PlaneCache, convert
from pacerail.patch import Image, Patch, whole

WIDTH, HEIGHT = 1920, 1080
RAIL_WIDTH, RAIL_HEIGHT = 1728, 160
FORMATS = ("yuv420p", "nv12", "yuv422p", "yuv444p", "yuv420p10le", "p010le", "yuv444p10le", "rgb24")
PICTURES = 60
REPEATS = 5


def rail_patches() -> list[Patch]:
    """Two stretches of strip side by side, a needle and four readouts, as a rail has them."""
    random = np.random.default_rng(1)

    def image(width: int, height: int) -> Image:
        rgba = np.empty((height, width, 4), np.uint8)
        rgba[..., 3] = random.integers(120, 256, (height, width))
        rgba[..., :3] = random.integers(0, 120, (height, width, 3))
        return Image(rgba)

    past, ghost = image(RAIL_WIDTH + 40, RAIL_HEIGHT), image(RAIL_WIDTH + 40, RAIL_HEIGHT)
    now = RAIL_WIDTH * 72 // 100 // 2 * 2
    top = HEIGHT - RAIL_HEIGHT - 54
    return [
        Patch(past, 96, top, 10, 0, now, RAIL_HEIGHT),
        Patch(ghost, 96 + now, top, now + 10, 0, RAIL_WIDTH - now, RAIL_HEIGHT),
        whole(image(4, RAIL_HEIGHT), 96 + now, top),
        *(whole(image(120, 40), 120 + 140 * index, top + 20) for index in range(4)),
    ]


def random_frame(layout: PixelLayout) -> av.VideoFrame:
    """A picture of noise."""
    frame = av.VideoFrame(WIDTH, HEIGHT, layout.name)
    random = np.random.default_rng(2)
    for view in component_views(frame, layout):
        view[...] = random.integers(16, 200, view.shape)
    return frame


def milliseconds(work: Callable[[], object], pictures: int = PICTURES) -> float:
    """Least mean CPU time of one call over several repeats."""
    best = float("inf")
    for _ in range(REPEATS):
        start = time.process_time()
        for _ in range(pictures):
            work()
        best = min(best, time.process_time() - start)
    return best / pictures * 1000


def whole_picture_route(frame: av.VideoFrame, patches: list[Patch]) -> av.VideoFrame:
    """What a script does at first: to RGB, paint in place, and back."""
    rgb = frame.to_ndarray(format="rgb24")
    for patch in patches:
        rgba = patch.image.rgba[
            patch.source_y : patch.source_y + patch.height,
            patch.source_x : patch.source_x + patch.width,
        ]
        area = rgb[patch.y : patch.y + patch.height, patch.x : patch.x + patch.width]
        area[...] = rgba[..., :3] + (area * (255 - rgba[..., 3:].astype(np.uint16)) // 255)
    return av.VideoFrame.from_ndarray(rgb, "rgb24").reformat(format=frame.format.name)


def main() -> None:
    """Print the table."""
    patches = rail_patches()
    blending_ms = {}
    print(f"rail of {RAIL_WIDTH}x{RAIL_HEIGHT} in {WIDTH}x{HEIGHT}, ms of CPU per picture")
    for name in FORMATS:
        layout = LAYOUTS[name]
        signal = signal_from_tags(
            matrix=1,
            colour_range=1,
            transfer=1,
            primaries=1,
            is_rgb=layout.is_rgb,
            bit_depth=layout.bit_depth,
            height=HEIGHT,
        )
        blender = Blender(PlaneCache(layout, signal))
        frame = random_frame(layout)
        blender.blend(frame, patches)
        blending_ms[name] = milliseconds(lambda b=blender, f=frame: b.blend(f, patches))  # type: ignore[misc]
        image = patches[0].image.rgba
        convert_ms = milliseconds(lambda i=image, y=layout, s=signal: convert(i, y, s), 5)  # type: ignore[misc]
        print(f"{name:12} blend {blending_ms[name]:6.3f}   convert one stretch {convert_ms:6.2f}")
    frame = random_frame(LAYOUTS["yuv420p"])
    naive_ms = milliseconds(lambda: whole_picture_route(frame, patches), 10)
    print(f"whole-picture RGB route {naive_ms:.2f}, {naive_ms / blending_ms['yuv420p']:.1f} times")


if __name__ == "__main__":
    main()
