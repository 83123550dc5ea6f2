"""Which picture a file is by its first bytes, before anything that decodes pictures sees it."""

from __future__ import annotations

from recorder.errors import FileEmpty, NotAPicture

# JPEG: ITU-T T.81, B.1.1.3 (SOI, then a marker). PNG: W3C PNG, 5.2. HEIF: ISO/IEC 23008-12, 10.2:
# a box 'ftyp' first, with one of these major brands.
_JPEG, _PNG = b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"
_HEIF = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}


def need_picture(head: bytes, name: str) -> None:
    """head: the first bytes of a file, at least 12 where it has them. Raises FileEmpty,
    NotAPicture.
    """
    if not head:
        raise FileEmpty(path=name)
    heif = head[4:8] == b"ftyp" and head[8:12] in _HEIF
    if not (head.startswith((_JPEG, _PNG)) or heif):
        raise NotAPicture(path=name, detail="it does not begin as a jpg, png or heic file does")
