"""The codes are read by OpenCV, which knows nothing of how they were drawn."""

from __future__ import annotations

import re

import cv2
import numpy as np
import pytest

from recorder.web.access import qr

ADDRESS = "https://192.168.7.20:8750/pair#zagmv4jnsmjihuhrneghim6fdkg6btal"
LIGHT = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}  # the upper and the lower half


def read(grey: np.ndarray) -> str:
    large = np.kron(grey, np.ones((8, 8), np.uint8))
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(large)
    return str(text)


@pytest.mark.parametrize("address", [ADDRESS, "http://[fd00::2]:8751/"])
def test_the_code_in_a_terminal_is_that_address(address: str) -> None:
    lines = re.sub(r"\x1b\[[0-9;]*m", "", qr.for_terminal(address)).splitlines()
    rows = [[LIGHT[char][half] for char in line] for line in lines for half in (0, 1)]
    assert read(np.array(rows, np.uint8) * 255) == address


def test_a_terminal_keeps_its_colours_afterwards() -> None:
    for line in qr.for_terminal(ADDRESS).splitlines():
        assert line.startswith("\x1b[97;40m")
        assert line.endswith("\x1b[0m")
