import numpy as np

from pacerail.draw.specimen import draw_specimen
from pacerail.draw.style import load_style, style_names


def test_a_specimen_has_a_row_for_every_style_and_clips_nothing() -> None:
    styles = [(name, load_style(name)) for name in style_names()]
    one, all_of_them = draw_specimen(styles[:1]), draw_specimen(styles)
    row = (all_of_them.height - one.height) // (len(styles) - 1)
    image = all_of_them.image().rgba[..., :3].astype(int)
    ground = image[0, 0]
    for edge in (image[:40], image[-40:], image[:, :40], image[:, -40:]):
        assert (edge == ground).all()
    for number, _ in enumerate(styles):
        part = image[number * row : (number + 1) * row]
        assert (np.abs(part - ground).sum(-1) > 60).mean() > 0.1
