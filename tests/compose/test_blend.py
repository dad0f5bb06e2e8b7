from __future__ import annotations

from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from pacerail.compose.blend import Blender
from pacerail.compose.colour import Signal, code_matrix, signal_from_tags
from pacerail.compose.layout import LAYOUTS, PixelLayout, component_views, plane_views
from pacerail.compose.planes import PlaneCache
from pacerail.patch import Image, Patch
from tests.compose.clips import blank_frame

FORMATS = (
    *("yuv420p", "nv12", "yuv422p", "yuv444p", "yuvj420p"),
    *("p010le", "yuv420p10le", "yuv422p10le", "yuv444p10le"),
    *("gbrp", "gbrp10le", "rgb24", "bgr24", "rgba", "bgra", "argb", "bgr0"),
)
WIDTH, HEIGHT = 66, 38  # not whole multiples of anything the code works in


def signal_for(layout: PixelLayout, colour_range: int = 1) -> Signal:
    return signal_from_tags(
        matrix=1,
        colour_range=colour_range,
        transfer=1,
        primaries=1,
        is_rgb=layout.is_rgb,
        bit_depth=layout.bit_depth,
        height=1080,
    )


def random_image(seed: int, rows: int, columns: int) -> Image:
    random = np.random.default_rng(seed)
    rgba = random.integers(0, 256, (rows, columns, 4)).astype(np.uint8)
    rgba[: rows // 3, :, 3] = 0
    rgba[rows // 3 : rows // 2, :, 3] = 255
    alpha = rgba[..., 3:].astype(np.uint16)
    rgba[..., :3] = rgba[..., :3] * alpha // 255
    return Image(rgba)


def random_frame(layout: PixelLayout, seed: int) -> av.VideoFrame:
    frame = av.VideoFrame(WIDTH, HEIGHT, layout.name)
    random = np.random.default_rng(seed)
    for view in component_views(frame, layout):
        view[...] = random.integers(0, 1 << layout.bit_depth, view.shape) << layout.shift
    return frame


def samples(frame: av.VideoFrame, layout: PixelLayout) -> list[NDArray[Any]]:
    return [view.astype(np.int64) >> layout.shift for view in component_views(frame, layout)]


def reference(
    plane: NDArray[Any], component: int, patch: Patch, layout: PixelLayout, signal: Signal
) -> NDArray[np.float64]:
    """The textbook in float64: filter, matrix, straight over, for the whole plane."""
    out = plane.astype(np.float64)
    rgba = patch.image.rgba.astype(np.float64) / 255
    rows, columns = layout.steps(component)
    if columns == 2:
        padded = np.concatenate([rgba[:, :1], rgba, rgba[:, -1:]], 1)
        rgba = (padded[:, 0:-2] + 2 * padded[:, 1:-1] + padded[:, 2:])[:, ::2] / 4
    if rows == 2:
        rgba = (rgba[::2] + rgba[1::2]) / 2
    part = rgba[
        patch.source_y // rows : (patch.source_y + patch.height) // rows,
        patch.source_x // columns : (patch.source_x + patch.width) // columns,
    ]
    graphics = part @ code_matrix(signal)[:, component]
    y, x = patch.y // rows, patch.x // columns
    area = out[y : y + part.shape[0], x : x + part.shape[1]]
    top = (1 << layout.bit_depth) - 1
    area[...] = np.clip(area * (1 - part[..., 3]) + graphics, 0, top)
    return out


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("colour_range", [1, 2])
def test_blending_is_within_one_code_of_the_float_reference(name: str, colour_range: int) -> None:
    layout = LAYOUTS[name]
    signal = signal_for(layout, colour_range)
    frame = random_frame(layout, 1)
    before = samples(frame, layout)
    patch = Patch(random_image(2, 20, 60), x=4, y=10, source_x=6, source_y=2, width=50, height=16)
    Blender(PlaneCache(layout, signal)).blend(frame, [patch])
    for component, (was, now) in enumerate(zip(before, samples(frame, layout), strict=True)):
        expected = reference(was, component, patch, layout, signal)
        error = np.abs(now - expected)
        # Half a code of rounding; fixed point adds up to a quarter at black and white.
        limit = 0.76 if layout.is_fixed_point else 0.501
        assert error.max() <= limit, f"component {component}: {error.max()}"
        assert (now != was).any()
        rows, columns = layout.steps(component)
        outside = np.ones(was.shape, bool)
        outside[10 // rows : 26 // rows, 4 // columns : 54 // columns] = False
        assert (now[outside] == was[outside]).all()


@pytest.mark.parametrize("name", FORMATS)
def test_a_fully_transparent_patch_changes_no_sample(name: str) -> None:
    layout = LAYOUTS[name]
    frame = random_frame(layout, 3)
    before = samples(frame, layout)
    empty = Image(np.zeros((HEIGHT, WIDTH, 4), np.uint8))
    patch = Patch(empty, 0, 0, 0, 0, WIDTH, HEIGHT)
    Blender(PlaneCache(layout, signal_for(layout))).blend(frame, [patch])
    for was, now in zip(before, samples(frame, layout), strict=True):
        assert (was == now).all()


@pytest.mark.parametrize("name", ["rgba", "argb", "bgr0", "0rgb"])
def test_samples_beside_the_colours_stay_as_they_are(name: str) -> None:
    layout = LAYOUTS[name]
    frame = random_frame(layout, 4)
    (everything,) = plane_views(frame, layout)
    colours = [component.first for component in layout.components]
    beside = everything[:, next(iter({0, 1, 2, 3}.difference(colours))) :: 4]
    beside[...] = np.random.default_rng(9).integers(0, 256, beside.shape)
    before = beside.copy()
    patch = Patch(random_image(2, 20, 60), x=4, y=10, source_x=6, source_y=2, width=50, height=16)
    Blender(PlaneCache(layout, signal_for(layout))).blend(frame, [patch])
    assert (beside == before).all()


def test_patches_are_painted_in_order() -> None:
    layout = LAYOUTS["yuv444p"]
    signal = signal_for(layout)
    cache = PlaneCache(layout, signal)
    under, over = random_image(5, 20, 20), random_image(6, 20, 20)
    both, one_by_one = random_frame(layout, 7), random_frame(layout, 7)
    patches = [Patch(under, 4, 4, 0, 0, 20, 20), Patch(over, 10, 10, 0, 0, 20, 20)]
    Blender(cache).blend(both, patches)
    for patch in patches:
        Blender(cache).blend(one_by_one, [patch])
    for left, right in zip(samples(both, layout), samples(one_by_one, layout), strict=True):
        assert (left == right).all()


def test_a_large_patch_equals_its_halves() -> None:
    layout = LAYOUTS["yuv420p"]
    cache = PlaneCache(layout, signal_for(layout))
    image = random_image(8, 500, 700)
    at_once, in_halves = (blank_frame(layout.name, 700, 500) for _ in range(2))
    Blender(cache).blend(at_once, [Patch(image, 0, 0, 0, 0, 700, 500)])
    halves = [Patch(image, 0, top, 0, top, 700, 250) for top in (0, 250)]
    Blender(cache).blend(in_halves, halves)
    for left, right in zip(samples(at_once, layout), samples(in_halves, layout), strict=True):
        assert left.any()
        assert (left == right).all()


def test_a_patch_outside_the_picture_is_refused() -> None:
    layout = LAYOUTS["yuv420p"]
    frame = random_frame(layout, 1)
    patch = Patch(random_image(1, 20, 20), WIDTH - 10, 0, 0, 0, 20, 20)
    with pytest.raises(ValueError, match="patch must lie inside the picture of 66x38"):
        Blender(PlaneCache(layout, signal_for(layout))).blend(frame, [patch])


def test_images_are_dropped_when_the_cache_is_full() -> None:
    layout = LAYOUTS["yuv444p"]
    cache = PlaneCache(layout, signal_for(layout), capacity_bytes=20_000)
    images = [random_image(seed, 20, 40) for seed in range(5)]
    planes = [cache.planes(image) for image in images]
    assert cache.planes(images[4]) is planes[4]
    assert cache.planes(images[0]) is not planes[0]
