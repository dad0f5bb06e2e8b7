"""What footage means by its code values, and what graphics are worth in it.

Graphics are drawn in sRGB. Footage carries R'G'B' or Y'CbCr of some standard, told by
the code points of ITU-T H.273 in its tags. Everything here works on premultiplied
colour: the matrix is linear, so the offset of each component simply rides on alpha.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]

# Luma weights of red and blue by H.273 matrix code point. ITU-R BT.709-6 (1),
# BT.601-7 (5 and 6), BT.2020-2 non-constant luminance (9).
LUMA_WEIGHTS = {
    1: (0.2126, 0.0722),
    5: (0.299, 0.114),
    6: (0.299, 0.114),
    9: (0.2627, 0.0593),
}
# The codec library numbers ranges thus; 0 means unspecified.
NARROW_RANGE = 1
FULL_RANGE = 2

# Diffuse white of graphics on HDR footage, cd/m2 (ITU-R BT.2408, HDR reference white).
GRAPHICS_WHITE = 203.0
PQ_PEAK = 10000.0  # cd/m2 at PQ signal 1 (SMPTE ST 2084)
HLG_PEAK = 1000.0  # cd/m2, nominal HLG display (ITU-R BT.2100)
HLG_GAMMA = 1.2  # system gamma of that display (ITU-R BT.2100)
DISPLAY_GAMMA = 2.4  # of SDR displays (ITU-R BT.1886)

# Chromaticities x, y of red, green, blue by H.273 primaries code point; white is D65
# in all of them. ITU-R BT.709, BT.2020, SMPTE EG 432-1 (P3-D65).
PRIMARIES = {
    1: ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060)),
    9: ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
    12: ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
}
D65 = (0.3127, 0.3290)


class Transfer(Enum):
    """Families of transfer characteristics that graphics are treated differently for."""

    SDR = "SDR"
    PQ = "PQ"
    HLG = "HLG"


@dataclass(frozen=True)
class Signal:
    """The meaning of the footage's code values."""

    luma_weights: tuple[float, float] | None
    """Weights of red and blue in luma; None for R'G'B' footage."""
    full_range: bool
    bit_depth: int
    transfer: Transfer
    primaries: int
    """H.273 code point, one of PRIMARIES."""
    assumptions: tuple[str, ...] = ()
    """What was assumed because the footage does not say, one sentence each."""


def signal_from_tags(
    *,
    matrix: int,
    colour_range: int,
    transfer: int,
    primaries: int,
    is_rgb: bool,
    bit_depth: int,
    height: int,
) -> Signal:
    """Signal told by H.273 code points, with the trade's assumption where one is missing.

    R'G'B' footage is taken as full range whatever its tag, as players take it.
    """
    assumptions: list[str] = []
    weights = None
    if not is_rgb:
        if matrix not in LUMA_WEIGHTS:
            matrix = assumed_matrix(height)
            name = "BT.709" if matrix == 1 else "BT.601"
            assumptions.append(f"The footage does not tell its matrix; {name} was assumed.")
        weights = LUMA_WEIGHTS[matrix]
        if colour_range == 0:
            assumptions.append("The footage does not tell its range; narrow was assumed.")
    kind = {16: Transfer.PQ, 18: Transfer.HLG}.get(transfer, Transfer.SDR)
    if primaries not in PRIMARIES:
        # The 601 primaries (5 and 6) are so near to 709's that the trade ignores the step.
        primaries = 1 if kind is Transfer.SDR else 9
    return Signal(
        luma_weights=weights,
        full_range=is_rgb or colour_range == FULL_RANGE,
        bit_depth=bit_depth,
        transfer=kind,
        primaries=primaries,
        assumptions=tuple(assumptions),
    )


def assumed_matrix(height: int) -> int:
    """H.273 code point of the matrix of footage that tells none, by its rows.

    Common practice of players, no published source: high definition means BT.709.
    """
    return 1 if height >= 720 else 6


def code_matrix(signal: Signal) -> NDArray[np.float64]:
    """(4, 3) matrix from premultiplied R'G'B'A in 0..1 to code values of three components.

    Rows R, G, B, A; columns Y', Cb, Cr, or R', G', B'. Narrow range: Y' = 219 E + 16,
    C = 224 E + 128, times 2^(depth - 8); full range spans 0 to 2^depth - 1
    (ITU-T H.273, equations for MatrixCoefficients and VideoFullRangeFlag).
    """
    scale = float(1 << (signal.bit_depth - 8))
    top = float((1 << signal.bit_depth) - 1)
    luma_span, luma_offset = (top, 0.0) if signal.full_range else (219 * scale, 16 * scale)
    if signal.luma_weights is None:
        return np.vstack([np.eye(3) * luma_span, np.full((1, 3), luma_offset)])
    red, blue = signal.luma_weights
    green = 1 - red - blue
    chroma_span = top if signal.full_range else 224 * scale
    luma = np.array([red, green, blue])
    chroma_blue = (np.array([0, 0, 1]) - luma) / (2 * (1 - blue))
    chroma_red = (np.array([1, 0, 0]) - luma) / (2 * (1 - red))
    colour = np.stack([luma * luma_span, chroma_blue * chroma_span, chroma_red * chroma_span], 1)
    return np.vstack([colour, [[luma_offset, 128 * scale, 128 * scale]]])


def graphics_in_signal(rgba: NDArray[np.uint8], signal: Signal) -> Plane:
    """Premultiplied R'G'B'A in the footage's transfer and primaries, from premultiplied sRGB.

    rgba : uint8, shape (rows, columns, 4).
    Returns float32, shape (4, rows, columns), in 0..1.

    On SDR footage with BT.709 primaries sRGB code values pass as they are, as in every
    editing program. Elsewhere colour goes through linear light; on HDR footage white is
    GRAPHICS_WHITE.
    """
    planes = np.ascontiguousarray(rgba.transpose(2, 0, 1)).astype(np.float32) / np.float32(255)
    if signal.transfer is Transfer.SDR and signal.primaries == 1:
        return planes
    alpha = planes[3]
    straight: Plane = planes[:3] / np.maximum(alpha, np.float32(1 / 255))
    primaries = primaries_matrix(signal.primaries)
    if signal.transfer is Transfer.SDR:
        encoded = mix(straight**DISPLAY_GAMMA, primaries) ** (1 / DISPLAY_GAMMA)
    else:
        luminance = mix(srgb_to_linear(straight), primaries) * GRAPHICS_WHITE
        encode = linear_to_pq if signal.transfer is Transfer.PQ else linear_to_hlg
        encoded = encode(luminance)
    planes[:3] = np.minimum(encoded, 1) * alpha
    return planes


def mix(rgb: Plane, matrix: NDArray[np.float64]) -> Plane:
    """(3, ...) colours through a (3, 3) matrix, clipped at black."""
    weights = matrix.astype(np.float32)
    # Written out: a matrix product would take all cores from the encoder.
    mixed: Plane = weights[:, 0, None, None] * rgb[0]
    mixed = mixed + weights[:, 1, None, None] * rgb[1] + weights[:, 2, None, None] * rgb[2]
    return np.maximum(mixed, np.float32(0))


def primaries_matrix(primaries: int) -> NDArray[np.float64]:
    """(3, 3) matrix from linear BT.709 R, G, B to linear light of other primaries.

    Both by way of CIE XYZ (SMPTE RP 177: derivation of basic television colour equations).
    """
    return np.asarray(np.linalg.solve(_rgb_to_xyz(primaries), _rgb_to_xyz(1)), np.float64)


def srgb_to_linear(encoded: Plane) -> Plane:
    """Linear light 0..1 of sRGB 0..1 (IEC 61966-2-1)."""
    low = encoded / 12.92
    high = ((encoded + 0.055) / 1.055) ** 2.4
    return np.where(encoded <= 0.04045, low, high).astype(np.float32)


def linear_to_pq(luminance: Plane) -> Plane:
    """PQ signal 0..1 of luminance in cd/m2 (SMPTE ST 2084, inverse EOTF)."""
    m1, m2 = 2610 / 16384, 2523 / 4096 * 128
    c1, c2, c3 = 3424 / 4096, 2413 / 4096 * 32, 2392 / 4096 * 32
    power = (np.asarray(luminance, np.float64) / PQ_PEAK) ** m1
    return (((c1 + c2 * power) / (1 + c3 * power)) ** m2).astype(np.float32)


def linear_to_hlg(luminance: Plane) -> Plane:
    """HLG signal 0..1 of (3, ...) BT.2020 display light in cd/m2 on the nominal display.

    Inverse OOTF, then OETF (ITU-R BT.2100, table 5).
    """
    display = np.asarray(luminance, np.float64) / HLG_PEAK
    luma = 0.2627 * display[0] + 0.6780 * display[1] + 0.0593 * display[2]
    scene = display * np.where(luma > 0, luma, 1) ** (1 / HLG_GAMMA - 1)
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    low = np.sqrt(3 * scene)
    high = a * np.log(np.maximum(12 * scene - b, 1e-9)) + c
    return np.where(scene <= 1 / 12, low, high).astype(np.float32)


def _rgb_to_xyz(primaries: int) -> NDArray[np.float64]:
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in PRIMARIES[primaries]]).T
    x, y = D65
    weights = np.linalg.solve(columns, np.array([x / y, 1.0, (1 - x - y) / y]))
    return np.asarray(columns * weights)
