"""What kind of device asks, in a few words, so that a person knows it again in the list.

Taken from the User-Agent header, which anybody may fake: it serves as a hint, and for nothing else.
"""

from __future__ import annotations

# What the header holds, and what it then is; the first that fits counts.
_BROWSERS = (
    ("Edg", "Edge"), ("SamsungBrowser", "Samsung browser"), ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"), ("CriOS", "Chrome"), ("Chrome", "Chrome"), ("Safari", "Safari"),
)  # fmt: skip
_SYSTEMS = (
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"),
    ("Macintosh", "Mac"), ("CrOS", "Chromebook"), ("Linux", "Linux"),
)  # fmt: skip


def browser_of(user_agent: str) -> str:
    """'Chrome on Android'; 'unknown browser' for one that tells nothing."""
    browser = next((name for mark, name in _BROWSERS if mark in user_agent), "")
    system = next((name for mark, name in _SYSTEMS if mark in user_agent), "")
    if not browser or not system:
        return browser or system or "unknown browser"
    return f"{browser} on {system}"
