"""Our squares read by a general-purpose library, as a phone would read them: small, turned, soiled, badly lit."""

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from farm.qr import square_of
from tests.squares import painted, picture

TEXTS = (
    "https://tunnels.example/q/3AC7XWYT/",
    "http://192.168.1.20:8000/q/ACDEFGHJ/",
    "https://a-rather-long-name-of-a-farm.tunnels.example:8443/q/WXY34679/",
    "https://tunnels.example/crew/enter/Zm9vYmFyYmF6cXV4MTIzNA/",
)


def read(image: Image.Image) -> list[str]:
    return [code.text for code in zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)]


def printed(text: str, dots: int = 8) -> Image.Image:
    square = square_of(text)
    return Image.fromarray(picture(painted(square.side, square.d), dots))


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("dots", [3, 8])
def test_it_says_what_was_put_in(text, dots):
    assert read(printed(text, dots)) == [text]


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("degrees", [7, 33, 180])
def test_a_label_that_hangs_askew_is_read(text, degrees):
    assert read(printed(text).rotate(degrees, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)) == [text]


@pytest.mark.parametrize("text", TEXTS)
def test_a_label_with_mud_on_it_is_read(text):
    """A tenth of the symbol's area lies under one splash, away from the three corners that are looked for first."""
    image = np.asarray(printed(text)).copy()
    size = image.shape[0]
    edge = int(size * 0.1**0.5)
    image[size // 2 : size // 2 + edge, size // 2 : size // 2 + edge] = 90

    assert read(Image.fromarray(image)) == [text]


@pytest.mark.parametrize("text", TEXTS)
def test_a_label_in_glare_and_out_of_focus_is_read(text):
    image = np.asarray(printed(text).filter(ImageFilter.GaussianBlur(3))).astype(float)
    light = np.linspace(0.45, 1.0, image.shape[1])[None, :]

    assert read(Image.fromarray((110 + 0.5 * image * light).astype(np.uint8))) == [text]


@pytest.mark.parametrize("text", TEXTS)
def test_a_label_on_a_dark_wall_is_read_for_its_quiet_zone(text):
    assert read(Image.fromarray(np.pad(np.asarray(printed(text)), 60, constant_values=0))) == [text]
