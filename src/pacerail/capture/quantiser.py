"""How coarsely pictures are quantised, where the decoder tells."""

from __future__ import annotations

import math

import av
import numpy as np
from av.sidedata.encparams import VideoEncParams, VideoEncParamsType
from av.video.reformatter import Interpolation, VideoReformatter

DECODER_OPTIONS = {"export_side_data": "venc_params"}
"""What makes decoders tell; those that cannot do nothing."""

_BLOCKS_LOOKED_AT = 400
_COARSE_SHARE = 0.95
"""Blocks with nothing in them may be quantised finely; the coarse ones matter."""
_TINY = 16


class QuantiserGauge:
    """Tells the quantiser of pictures; keeps what it needs from one to the next."""

    def __init__(self) -> None:
        self._reformatter = VideoReformatter()

    def step(self, frame: av.VideoFrame, bit_depth: int) -> float:
        """Step of the coarser blocks in 8-bit code values; not a number where it is not known.

        The step is 0.625 at QP 0 and doubles with every 6 (ITU-T H.264, 8.5.9; from memory).
        """
        # A frame and its side data, once looked at, refer to each other: a whole picture would
        # stay until garbage is collected. A tiny one takes the side data with it.
        # By one thread: waking others takes ten times as long as the work.
        tiny = self._reformatter.reformat(
            frame, width=_TINY, height=_TINY, interpolation=Interpolation.POINT, threads=1
        )
        coding = tiny.side_data.get("VIDEO_ENC_PARAMS")
        if (
            not isinstance(coding, VideoEncParams)
            or coding.codec_type is not VideoEncParamsType.H264
            or coding.nb_blocks == 0
        ):
            return math.nan
        every = max(coding.nb_blocks // _BLOCKS_LOOKED_AT, 1)
        block_qp = [coding.block_params(k).delta_qp for k in range(0, coding.nb_blocks, every)]
        qp = coding.qp + float(np.quantile(block_qp, _COARSE_SHARE))
        return float(0.625 * 2.0 ** (qp / 6 - (bit_depth - 8)))
