"""A decoded picture as exact R'G'B' at its own pixels, by what its tags say.

Worked out in floating point from the code values, so that no scaler's own rounding or
habitual matrix comes between: the wrong matrix turns 75 % yellow into (188, 201, 6).
"""

from __future__ import annotations

from dataclasses import dataclass

import av
import numpy as np
from numpy.typing import NDArray

from pacerail.compose.colour import Transfer, code_matrix
from pacerail.compose.conform import Conformer
from pacerail.compose.footage import footage_of
from pacerail.compose.layout import LAYOUTS, component_views, layout_of, nearest_format
from pacerail.errors import InputError

Rgb = NDArray[np.uint8] | NDArray[np.uint16]


@dataclass(frozen=True, eq=False)
class SeenPicture:
    """R'G'B' of a picture as it is seen, after any turn."""

    rgb: Rgb
    """Full range, shape (rows, columns, 3): uint8, or uint16 over all 16 bits where the
    capture has more than 8."""
    assumptions: tuple[str, ...]
    """What was assumed because the capture does not say, one sentence each."""


def seen_picture(frame: av.VideoFrame) -> SeenPicture:
    """Convert by the tags of the frame; chroma is spread linearly from where it is sited.

    Raises InputError for PQ and HLG, whose code values mean nothing on an SDR page.
    """
    footage = footage_of(frame)
    target = footage.encoded_as(nearest_format(footage.pixel_format, LAYOUTS))
    layout = layout_of(target.pixel_format)
    signal = target.signal(layout)
    if signal.transfer is not Transfer.SDR:
        raise InputError(
            f"stills must come from SDR captures, got {signal.transfer.value}; "
            "tone-map the capture to BT.709 first"
        )
    planes = [
        (view >> layout.shift).astype(np.float32)
        for view in component_views(Conformer(footage, target).conform(frame), layout)
    ]
    if not layout.is_rgb:
        planes[1:] = [
            spread_chroma(plane, planes[0].shape, layout.chroma_rows, layout.chroma_columns)
            for plane in planes[1:]
        ]
    matrix = code_matrix(signal).astype(np.float32)
    inverse = np.linalg.inv(matrix[:3])
    codes = np.stack(planes, axis=-1) - matrix[3]
    top = 255 if layout.bit_depth == 8 else 65535
    rgb = np.clip(codes @ inverse * top + 0.5, 0, top)
    upright = np.rot90(rgb.astype(np.uint8 if top == 255 else np.uint16), -footage.quarter_turns)
    return SeenPicture(np.ascontiguousarray(upright), signal.assumptions)


def spread_chroma(
    plane: NDArray[np.float32], shape: tuple[int, ...], rows: int, columns: int
) -> NDArray[np.float32]:
    """Chroma for every pixel of `shape`, linear between samples, the border repeated.

    Sited on even columns and between rows, as H.264 and HEVC have it by default
    (ITU-T H.264 annex E, chroma_sample_loc_type 0).
    """
    if rows == 2:
        plane = _between(plane, (np.arange(shape[0]) - 0.5) / 2)
    if columns == 2:
        plane = _between(plane.T, np.arange(shape[1]) / 2).T
    return plane


def _between(plane: NDArray[np.float32], places: NDArray[np.float64]) -> NDArray[np.float32]:
    """Rows of a plane at fractional places."""
    places = np.clip(places, 0, len(plane) - 1)
    low = places.astype(np.intp)
    high = np.minimum(low + 1, len(plane) - 1)
    share = (places - low).astype(np.float32)[:, None]
    return plane[low] * (1 - share) + plane[high] * share
