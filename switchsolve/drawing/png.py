"""A picture as PNG, by way of its SVG."""

from __future__ import annotations

from switchsolve.errors import DrawingError

__all__ = ["png_bytes"]

_ZOOM = 2
"""Pixels for each drawing unit."""


def png_bytes(svg: str) -> bytes:
    """The PNG of an SVG text.

    Raises :class:`~switchsolve.errors.DrawingError` if the package that draws it is not installed.
    """
    try:
        import resvg_py
    except ImportError:
        raise DrawingError(
            "PNG needs one package more; pip install 'switchsolve[png]', or name a file that ends in .svg"
        ) from None
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=_ZOOM))
