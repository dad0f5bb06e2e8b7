"""Type: the shipped typeface for numerals and words, the machine's fonts for other scripts.

The shipped face has tabular digits (540/1000 em in every weight), so a number that is set
from the right never jumps. Its minus sign has the width of a digit and stands in for a
digit that cannot be told.
"""

from __future__ import annotations

import functools
import importlib.resources
import unicodedata
from dataclasses import dataclass
from typing import Any, Literal

from pacerail.draw.colour import Colour
from pacerail.draw.library import load_skia, machine_fonts

Weight = Literal["Regular", "Medium", "SemiBold"]

CAP_HEIGHT = 0.698
"""Height of capitals and digits over the size (OS/2 table of the typeface)."""
DASH = "\u2212"
"""Stands in for one digit, at exactly its width."""
ELLIPSIS = "\u2026"


@functools.cache
def typeface(weight: Weight) -> Any:
    """A face of the shipped family, the same on every machine."""
    folder = importlib.resources.files("fontpkg_ibm_plex_sans_condensed") / "files"
    data = (folder / f"IBMPlexSansCondensed-{weight}.ttf").read_bytes()
    skia = load_skia()
    # A manager of its own: the usual one would read the machine's font settings.
    return skia.FontMgr.New_Custom_Empty().makeFromData(skia.Data.MakeWithCopy(data), 0)


@functools.lru_cache(maxsize=64)
def font(size: float, weight: Weight) -> Any:
    """The face at a size in pixels, unhinted so that advances scale exactly."""
    skia = load_skia()
    result = skia.Font(typeface(weight), size)
    result.setHinting(skia.FontHinting.kNone)
    result.setSubpixel(True)
    result.setEdging(skia.Font.Edging.kAntiAlias)
    return result


def text_width(text: str, size: float, weight: Weight) -> float:
    """Advance width in pixels, set in the shipped face."""
    return float(font(size, weight).measureText(text))


@dataclass(frozen=True)
class Label:
    """A platform's label, cut to fit: in the shipped face, or shaped with the machine's fonts."""

    text: str
    size: float
    weight: Weight
    shaped: bool

    @property
    def width(self) -> float:
        """Advance width in pixels."""
        if self.shaped:
            return float(self._paragraph(Colour(0, 0, 0)).LongestLine)
        return text_width(self.text, self.size, self.weight)

    def paint(self, target: Any, x: float, baseline: float, colour: Colour) -> None:
        """Draw onto a Skia canvas from x on, capitals standing on the baseline."""
        skia = load_skia()
        if self.shaped:
            paragraph = self._paragraph(colour)
            paragraph.paint(target, x, baseline - paragraph.AlphabeticBaseline)
        else:
            paint = skia.Paint(Color=skia_colour(colour), AntiAlias=True)
            target.drawString(self.text, x, baseline, font(self.size, self.weight), paint)

    def _paragraph(self, colour: Colour) -> Any:
        skia = load_skia()
        layout = skia.textlayout
        text_style = layout.TextStyle()
        text_style.setFontSize(self.size)
        text_style.setColor(skia_colour(colour))
        style = layout.ParagraphStyle()
        style.setTextStyle(text_style)
        fonts = layout.FontCollection()
        fonts.setDefaultFontManager(machine_fonts())
        builder = layout.ParagraphBuilder.make(style, fonts, skia.Unicodes.ICU.Make())
        builder.pushStyle(text_style)
        builder.addText(_isolated(self.text))
        paragraph = builder.Build()
        paragraph.layout(1e6)
        return paragraph


def fit_label(text: str, size: float, weight: Weight, width: float) -> Label:
    """The label set in one line of at most `width` pixels, ended by an ellipsis where cut.

    A character that no font of this machine has shows as the shipped face's empty box.
    """
    text = unicodedata.normalize("NFC", " ".join(text.split()))
    shaped = not _is_covered(text) and _machine_has_fonts_for(text)
    label = Label(text, size, weight, shaped)
    while label.width > width and text:
        text = _shortened(text)
        label = Label(text + ELLIPSIS, size, weight, shaped)
    return label


def wrapped(text: str, size: float, weight: Weight, width: float) -> list[str]:
    """The words of a text on lines of at most `width` pixels; a longer word stays whole."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, weight) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


@functools.lru_cache(maxsize=256)
def skia_colour(colour: Colour) -> int:
    """Straight colour with opacity as Skia's packed integer."""
    channels = (colour.opacity * 255, colour.red, colour.green, colour.blue)
    return int(load_skia().ColorSetARGB(*(round(channel) for channel in channels)))


def _shortened(text: str) -> str:
    """Text without its last letter and the marks that belong to it."""
    end = len(text) - 1
    while end > 0 and unicodedata.combining(text[end]):
        end -= 1
    return text[:end].rstrip()


def _is_covered(text: str) -> bool:
    face = typeface("Medium")
    return all(face.unicharToGlyph(ord(character)) for character in text)


def _machine_has_fonts_for(text: str) -> bool:
    skia = load_skia()
    manager, face = machine_fonts(), typeface("Medium")
    return any(
        manager.matchFamilyStyleCharacter("", skia.FontStyle(), [], ord(character))
        for character in text
        if not face.unicharToGlyph(ord(character))
    )


def _isolated(text: str) -> str:
    """Text in a directional isolate, so that its first strong letter sets its direction.

    Unicode Standard Annex 9, first strong isolate ... pop directional isolate.
    """
    return f"\u2068{text}\u2069"
