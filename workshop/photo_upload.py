"""Photographs of others' making, drawn anew; runs in the child process of uploads.

What comes out is a plain JPEG without the camera's notes: no place, no name, no time.
"""

import base64
import io
from typing import Any

from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

from workshop.faults import FaultyFileError, fault

FORMATS = ("JPEG", "PNG", "WEBP")
PIXELS_MOST = 60_000_000
SIDE_LEAST_PX = 100
SIDE_KEPT_PX = 2400  # a hide 1.2 m long at half a millimetre
QUALITY = 84


def read_photograph(data: bytes) -> dict[str, Any]:
    """Return the photograph as JPEG (base64) with its width and height.

    Raises
    ------
    FaultyFileError
        No JPEG, PNG or WebP that can be read, or one of too many or too few pixels.
    """
    Image.MAX_IMAGE_PIXELS = None  # looked at here, before a pixel is read
    ImageFile.LOAD_TRUNCATED_IMAGES = False  # other packages switch it on for themselves
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
            _check_size(*picture.size)
            picture.draft("RGB", (SIDE_KEPT_PX, SIDE_KEPT_PX))
            plain = _on_white(ImageOps.exif_transpose(picture))
    except FaultyFileError:
        raise
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError):
        raise FaultyFileError([fault("photo")]) from None
    plain.thumbnail((SIDE_KEPT_PX, SIDE_KEPT_PX))
    stream = io.BytesIO()
    plain.save(stream, "JPEG", quality=QUALITY, optimize=True)
    return {
        "jpeg": base64.b64encode(stream.getvalue()).decode("ascii"),
        "width_px": plain.width,
        "height_px": plain.height,
    }


def _check_size(width: int, height: int) -> None:
    if width * height > PIXELS_MOST or min(width, height) < SIDE_LEAST_PX:
        size, most = f"{width} × {height}", PIXELS_MOST // 1_000_000
        raise FaultyFileError([fault("photo-size", size=size, least=SIDE_LEAST_PX, most=most)])


def _on_white(picture: Image.Image) -> Image.Image:
    if picture.mode not in ("RGBA", "LA", "P"):
        return picture.convert("RGB")
    clear = picture.convert("RGBA")
    ground = Image.new("RGB", clear.size, "white")
    ground.paste(clear, mask=clear.getchannel("A"))
    return ground
