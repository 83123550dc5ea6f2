"""An address as a QR code, for the camera of a phone."""

from __future__ import annotations

import base64
import io

import segno

_QUIET_MODULES = 4  # the light margin that ISO/IEC 18004 wants around a QR code


def picture(address: str) -> str:
    """As an image that a page can hold: an SVG in a data address, black on white."""
    out = io.BytesIO()
    _code(address).save(out, kind="svg", border=_QUIET_MODULES, xmldecl=False, light="white")
    return f"data:image/svg+xml;base64,{base64.b64encode(out.getvalue()).decode()}"


def for_terminal(address: str) -> str:
    """In lines of half blocks, light on the terminal's own ground."""
    out = io.StringIO()
    _code(address).terminal(out, border=_QUIET_MODULES, compact=True)
    return out.getvalue()


def _code(address: str) -> segno.QRCode:
    return segno.make_qr(address, error="m", boost_error=False, encoding="utf-8")
