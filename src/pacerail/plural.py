"""Things counted in words."""

from __future__ import annotations


def plural(count: int, noun: str, plural_noun: str | None = None) -> str:
    """``1 frame``, ``2 frames``, ``no frame``."""
    if count == 0:
        return f"no {noun}"
    return f"{count} {noun if count == 1 else plural_noun or noun + 's'}"
