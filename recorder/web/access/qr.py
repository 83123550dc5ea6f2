"""An address as a QR code, for the camera of a phone."""

from __future__ import annotations

import base64
import io

import segno

_WHITE_ON_BLACK, _AS_BEFORE = "\x1b[97;40m", "\x1b[0m"  # ECMA-48, SGR
_QUIET_MODULES = 4  # the light margin that ISO/IEC 18004 wants around a QR code


def picture(address: str) -> str:
    """As an image that a page can hold: an SVG in a data address, black on white."""
    out = io.BytesIO()
    _code(address).save(
        out, kind="svg", border=_QUIET_MODULES, xmldecl=False, light="white", omitsize=True
    )
    return f"data:image/svg+xml;base64,{base64.b64encode(out.getvalue()).decode()}"


def for_terminal(address: str) -> str:
    """In lines of half blocks, white on black whatever the colours of the terminal are."""
    out = io.StringIO()
    _code(address).terminal(out, border=_QUIET_MODULES, compact=True)
    return "".join(f"{_WHITE_ON_BLACK}{line}{_AS_BEFORE}\n" for line in out.getvalue().splitlines())


def _code(address: str) -> segno.QRCode:
    return segno.make_qr(address, error="m", boost_error=False, encoding="utf-8")
