"""A machine without Skia's system libraries gets a sentence, not a traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest


def run(code: str) -> str:
    """What a fresh interpreter prints."""
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    return result.stdout.strip()


def test_missing_libraries_are_named_with_what_to_type() -> None:
    printed = run(
        "import sys; sys.modules['skia'] = None\n"
        "from pacerail.errors import InputError\n"
        "from pacerail.draw.lettering import text_width\n"
        "try:\n    text_width('60', 12, 'Medium')\n"
        "except InputError as error:\n    print(error)"
    )
    assert printed.startswith("drawing must find the system libraries of Skia, got ")
    assert printed.endswith("; type: sudo apt-get install libegl1 libgl1 libexpat1")


def test_drawing_is_loaded_with_the_first_mark_not_with_its_modules() -> None:
    printed = run(
        "import sys, pacerail.draw.overlay, pacerail.draw.strip, pacerail.draw.specimen\n"
        "from pacerail.draw.style import load_style; load_style('quay')\n"
        "print('skia' in sys.modules)"
    )
    assert printed == "False"


@pytest.mark.parametrize("label", ["Merle", "\u65e5\u672c", "\u0645\u0631"])
@pytest.mark.parametrize("settings", ["", "<fontconfig><nonsense/></fontconfig>", "<"])
def test_broken_or_missing_font_settings_leave_standard_error_alone(
    label: str, settings: str, tmp_path: Path
) -> None:
    file = tmp_path / "fonts.conf"
    if settings:
        file.write_text(settings)
    code = (
        "from pacerail.draw.lettering import fit_label\n"
        f"print(fit_label({label!r}, 20, 'Medium', 300).width > 0)"
    )
    result = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "FONTCONFIG_FILE": str(file)},
    )
    assert (result.stdout, result.stderr) == ("True\n", "")
