import pytest

from pacerail.draw.colour import Colour, contrast, least_contrast


# Ratios by the formula of WCAG 2.x as computed by the package wcag-contrast-ratio 0.9.
@pytest.mark.parametrize(
    ("first", "second", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),
        ("#767676", "#ffffff", 4.5422),
        ("#777777", "#ffffff", 4.4781),
        ("#ff0000", "#ffffff", 3.9985),
        ("#ffff00", "#000000", 19.5560),
        ("#0000ff", "#000000", 2.4440),
        ("#808080", "#000000", 5.3172),
        ("#e69f00", "#000000", 9.32),
        ("#d55e00", "#000000", 5.43),
    ],
)
def test_contrast_is_that_of_the_web_guidelines(first: str, second: str, ratio: float) -> None:
    tolerance = 5e-5 if len(str(ratio)) > 5 else 5e-3
    assert contrast(Colour.parse(first), Colour.parse(second)) == pytest.approx(
        ratio, abs=tolerance
    )
    assert contrast(Colour.parse(second), Colour.parse(first)) == pytest.approx(
        ratio, abs=tolerance
    )


def test_mixing_keeps_the_ends() -> None:
    ink, ground = Colour(10, 20, 30), Colour(200, 100, 0)
    assert ink.over(ground) == ink
    assert ink.faded(0).over(ground) == ground
    assert ink.faded(0.5).over(ground) == Colour(105, 60, 15)


def test_least_contrast_finds_the_footage_that_hurts() -> None:
    white_ink, glass = Colour(255, 255, 255), Colour(0, 0, 0, 0.5)
    assert least_contrast(white_ink, glass) == pytest.approx(
        contrast(white_ink, Colour(127.5, 127.5, 127.5))
    )


@pytest.mark.parametrize("text", ["red", "#fff", "#12345g", "123456", "#1234567"])
def test_a_colour_is_written_with_six_digits(text: str) -> None:
    with pytest.raises(ValueError, match=r".*"):
        Colour.parse(text)
