"""A QR code as a picture that needs no style sheet and no second request."""

from __future__ import annotations

from typing import Any, Final

from django.utils.html import format_html
from django.utils.safestring import SafeString
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

QUIET: Final = 4  # modules of white around, as readers ask for
SIZE_PX: Final = 260


def qr_svg(text: str) -> SafeString:
    """Return the text as the SVG of a QR code."""
    code: Any = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    side = code.getModuleCount() + 2 * QUIET
    dark = "".join(
        f"M{column + QUIET} {row + QUIET}h1v1h-1z"
        for row, modules in enumerate(code.modules)
        for column, is_dark in enumerate(modules)
        if is_dark
    )
    return format_html(
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="QR code"'
        ' width="{px}" height="{px}" viewBox="0 0 {side} {side}" shape-rendering="crispEdges">'
        '<path fill="#fff" d="M0 0h{side}v{side}H0z"/><path fill="#000" d="{dark}"/></svg>',
        px=SIZE_PX, side=side, dark=dark,
    )  # fmt: skip
