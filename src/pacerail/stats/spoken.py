"""Numbers rounded the way people speak them, never to a false nought or a false whole."""

from __future__ import annotations

from pacerail.plural import plural


def spoken_number(value: float) -> str:
    """Whole from ten on, one decimal below, two significant digits below one."""
    if value >= 9.95:
        return f"{value:.0f}"
    if value >= 0.95:
        return f"{value:.1f}".removesuffix(".0")
    return f"{value:.2g}"


def spoken_rate(fps: float) -> str:
    """``60``, ``about 47``: "about" where rounding moved it by more than a tenth."""
    text = spoken_number(fps)
    return text if abs(float(text) - fps) <= 0.1 else f"about {text}"


def spoken_share(share: float) -> str:
    """``12 percent``, ``less than 1 percent``, ``more than 99 percent``; 0 and 100 are exact."""
    if share in (0.0, 1.0):
        return f"{share * 100:.0f} percent"
    if share < 0.01:
        return "less than 1 percent"
    if share > 0.99:
        return "more than 99 percent"
    return f"{share * 100:.0f} percent"


def spoken_duration(seconds: float) -> str:
    """``80 milliseconds``, ``4.2 seconds``, ``2 minutes 5 seconds``."""
    if seconds < 0.9995:
        return f"{seconds * 1000:.0f} milliseconds"
    if seconds < 59.95:
        amount = f"{seconds:.1f}".removesuffix(".0")
        return f"{amount} second{'' if amount == '1' else 's'}"
    whole = round(seconds)
    minutes, rest = divmod(whole, 60)
    text = plural(minutes, "minute")
    return f"{text} {plural(rest, 'second')}" if rest else text
