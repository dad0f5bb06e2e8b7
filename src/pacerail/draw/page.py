"""Drawings as files: pixels as PNG, pages as SVG or PDF."""

from __future__ import annotations

import re
from pathlib import Path

from pacerail.draw.canvas import Box, Canvas, Drawing, skia_image
from pacerail.draw.library import load_skia
from pacerail.errors import UsageError
from pacerail.patch import Image

FORMATS = (".png", ".svg", ".pdf")


def check_format(path: Path) -> None:
    """Raise UsageError when the name's suffix is none of `FORMATS`."""
    if path.suffix.lower() not in FORMATS:
        raise UsageError(
            f"drawing must be a file named {', '.join(FORMATS)}, got {path.name}; change the suffix"
        )


def write_drawing(drawing: Drawing, path: Path) -> None:
    """Write a drawing in the format of the path's suffix.

    Letters become outlines on a page, so it looks the same wherever it is opened.
    Raises UsageError for another suffix, OSError when writing fails.
    """
    check_format(path)
    suffix = path.suffix.lower()
    if suffix == ".png":
        write_png(drawing.image(), path)
    elif suffix == ".svg":
        path.write_bytes(_svg(drawing))
    else:
        path.write_bytes(_pdf(drawing))


def write_png(image: Image, path: Path) -> None:
    """Write an image as PNG, its alpha straight as that format has it. Raises OSError."""
    skia = load_skia()
    path.write_bytes(bytes(skia_image(image).encodeToData(skia.EncodedImageFormat.kPNG, 100)))


def _svg(drawing: Drawing) -> bytes:
    skia = load_skia()
    stream = skia.DynamicMemoryWStream()
    bounds = skia.Rect.MakeWH(drawing.width, drawing.height)
    recorder = skia.PictureRecorder()
    _paint(drawing, recorder.beginRecording(bounds))
    target = skia.SVGCanvas.Make(bounds, stream, skia.SVGCanvas.kConvertTextToPaths_Flag)
    target.drawPicture(recorder.finishRecordingAsPicture())
    # The document is complete only once its canvas is gone. Nobody else has seen it: a
    # profiler that looks at the stack would keep it.
    del target
    return _numbered_anew(bytes(stream.detachAsData()))


def _numbered_anew(svg: bytes) -> bytes:
    """The same document with its ids counted from 0: Skia counts on from the last document."""
    mention = re.compile(rb'(id="|url\(#)([a-z]+_)([0-9a-f]+)')
    seen = dict.fromkeys(found[1:] for found in mention.findall(svg))
    numbers = {name: number for number, name in enumerate(seen)}
    return mention.sub(
        lambda found: b"%s%s%x" % (found[1], found[2], numbers[found[2], found[3]]), svg
    )


def _pdf(drawing: Drawing) -> bytes:
    skia = load_skia()
    stream = skia.DynamicMemoryWStream()
    size = (drawing.width, drawing.height)
    with skia.PDF.MakeDocument(stream) as document, document.page(*size) as target:
        _paint(drawing, target)
    return bytes(stream.detachAsData())


def _paint(drawing: Drawing, target: object) -> None:
    canvas = Canvas(target)
    canvas.box(Box(0, 0, drawing.width, drawing.height), drawing.ground)
    drawing.paint(canvas)
