"""Footage that players turn: where a patch of the seen picture lies in the stored one."""

from __future__ import annotations

from pacerail.patch import Patch


def turn_back(patch: Patch, quarter_turns: int, width: int, height: int) -> Patch:
    """Where a patch of the picture as seen lies in the stored one, and in its turned image.

    quarter_turns : turns clockwise from the stored picture to the seen one.
    width, height : even size of the stored picture. The image stays the key of its planes.
    """
    for turns_left in range(quarter_turns, 0, -1):
        # One turn back (counterclockwise): x runs down the left side from the bottom.
        image_rows, image_columns, _ = patch.image.rgba.shape
        is_upright = (quarter_turns - turns_left) % 2 == 0
        source_span = image_columns if is_upright else image_rows
        # The size of the picture before this turn back, which shows it turns_left times.
        seen_width = height if turns_left % 2 else width
        patch = Patch(
            patch.image,
            x=patch.y,
            y=seen_width - patch.x - patch.width,
            source_x=patch.source_y,
            source_y=source_span - patch.source_x - patch.width,
            width=patch.height,
            height=patch.width,
        )
    return patch
