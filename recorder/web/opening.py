"""Open the page in the browser of this machine."""

from __future__ import annotations

import html
import webbrowser

from recorder.archive.disk.home import Home
from recorder.web.access.devices import FOLDER, make_private, write_private

_PAGE = """\
<!doctype html><meta charset="utf-8"><title>Seamnote</title>
<meta http-equiv="refresh" content="0; url={address}">
<p><a href="{address}">Seamnote</a></p>
"""


def show(home: Home, address: str) -> None:
    """By way of a file that its owner alone can read: what stands on a command line, every user of
    the machine can see, and the address holds the pairing code. Where no browser opens it, the
    address still stands in the terminal.
    """
    folder = home.root / FOLDER
    make_private(folder)
    page = folder / "open.html"
    write_private(page, _PAGE.format(address=html.escape(address)).encode())
    webbrowser.open(page.as_uri())
