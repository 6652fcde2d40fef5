"""Bring a picture of any kind to sRGB with 8 bit a colour."""

import io

import numpy as np
from PIL import Image, ImageCms


def to_srgb(image: Image.Image, notes: list[str]) -> Image.Image:
    """Return a picture as 8-bit sRGB without transparency.

    Parameters
    ----------
    image : PIL.Image.Image
        Decoded, of any mode.
    notes : list of str
        Gains a line if the picture's colour profile cannot be used.

    Returns
    -------
    PIL.Image.Image
        Mode RGB; transparent parts are white, 16 bit is scaled to 8.
    """
    profile = image.info.get("icc_profile")
    if image.mode.startswith("I") or image.mode == "F":
        # The plain conversion clips at 255 instead of scaling.
        image = Image.fromarray((np.asarray(image).astype(np.uint32) >> 8).astype(np.uint8))
    if image.mode == "P":
        image = image.convert("RGBA" if "transparency" in image.info else "RGB")
    elif image.mode == "1" or (image.mode in ("L", "RGB") and "transparency" in image.info):
        image = image.convert("RGBA")
    mask = image.getchannel("A") if image.mode in ("LA", "RGBA") else None
    if mask is not None:
        image = image.convert("L" if image.mode == "LA" else "RGB")
    if profile:
        image = _by_profile(image, profile, notes)
    if image.mode != "RGB":
        image = image.convert("RGB")
    if mask is not None:
        white = Image.new("RGB", image.size, "white")
        white.paste(image, mask=mask)
        image = white
    return image


def _by_profile(image: Image.Image, profile: bytes, notes: list[str]) -> Image.Image:
    """Convert by the picture's own colour profile, unless that is sRGB already or damaged."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        name = ImageCms.getProfileDescription(source).strip().lower()
        if image.mode == "RGB" and name.startswith("srgb"):
            return image
        converted = ImageCms.profileToProfile(
            image,
            source,
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
        )
    except Exception:  # a damaged or foreign profile must not stop a good picture
        notes.append("the picture's colour profile cannot be used; its colours may be a little off")
        return image
    return converted if converted is not None else image
