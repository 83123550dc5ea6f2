"""Numbers in words, as a technician says them: 172 'one seventy-two', 2.2 'two point two'.

Spelled out, so that every voice says them alike and a page shows what was spoken.
"""

from __future__ import annotations

from recorder.live.saying.words import language, of

_MOST = 1_000_000  # from here on a number is spoken digit by digit
_DECIMALS = 4


def number(value: float) -> str:
    """A number in words, with up to four digits after the point, each by itself."""
    text = f"{abs(value):.{_DECIMALS}f}".rstrip("0").rstrip(".")
    whole, _, rest = text.partition(".")
    said = integer(int(whole))
    if rest:
        said += f" {of('numbers', 'point')} {digits(rest)}"
    if value < 0 and text != "0":
        said = "minus " + said
    return said


def integer(value: int) -> str:
    """A whole number, not negative."""
    if value >= _MOST:
        return digits(str(value))
    return _german(value) if language() == "de" else _english(value)


def digits(text: str) -> str:
    """Digit by digit."""
    return " ".join(_below_twenty()[int(digit)] for digit in text)


def _below_twenty() -> list[str]:
    return of("numbers", "below_twenty").split()


def _tens() -> list[str]:
    """Names of 20, 30 to 90."""
    return of("numbers", "tens").split()


def _english(value: int) -> str:
    """Between 100 and 999 as on a shop floor: 'one oh five', 'one seventy-two', 'two hundred'."""
    if value < 100:
        return _two_digits(value)
    if value < 1000:
        hundreds, rest = divmod(value, 100)
        if rest == 0:
            return f"{_two_digits(hundreds)} hundred"
        return f"{_two_digits(hundreds)} {'oh ' if rest < 10 else ''}{_two_digits(rest)}"
    thousands, rest = divmod(value, 1000)
    return f"{_full(thousands)} thousand {_full(rest) if rest else ''}".strip()


def _two_digits(value: int) -> str:
    if value < 20:
        return _below_twenty()[value]
    tens, one = divmod(value, 10)
    return _tens()[tens - 2] + (f"-{_below_twenty()[one]}" if one else "")


def _full(value: int) -> str:
    """Below 1000 within a larger number: 'two hundred fifty'."""
    hundreds, rest = divmod(value, 100)
    said = f"{_two_digits(hundreds)} hundred " if hundreds else ""
    return (said + (_two_digits(rest) if rest or not hundreds else "")).strip()


def _german(value: int) -> str:
    if value < 20:
        return _below_twenty()[value]
    if value < 100:
        tens, one = divmod(value, 10)
        return f"{_before(one)}und{_tens()[tens - 2]}" if one else _tens()[tens - 2]
    size, name = (100, "hundert") if value < 1000 else (1000, "tausend")
    many, rest = divmod(value, size)
    return f"{_before(many)}{name}" + (_german(rest) if rest else "")


def _before(many: int) -> str:
    """'ein', and not 'eins', before what it counts."""
    said = _german(many)
    return said.removesuffix("s") if many % 100 == 1 else said
