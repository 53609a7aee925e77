"""Pictures and things that only look like one, made here."""

import struct
import zlib
from io import BytesIO

from PIL import Image

# Numbers of Exif 2.32 (CIPA DC-008), sections 4.6.4 and 4.6.6; the same as in TIFF 6.0 where it has them.
MODEL, ORIENTATION, ARTIST, GPS = 0x0110, 0x0112, 0x013B, 0x8825
LATITUDE_REF, LATITUDE = 1, 2
TURNED = 6  # orientation 6: the first row is the right side of what was seen
SECRET = "Nobody Inparticular"


def picture(size: tuple[int, int] = (64, 48), kind: str = "JPEG", colour: str = "teal", **more: object) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, kind, **more)
    return out.getvalue()


def with_place() -> bytes:
    """As a phone makes it: the place, a name and how it was held, and a comment. Its first column is red."""
    exif = Image.Exif()
    exif[MODEL], exif[ARTIST], exif[ORIENTATION] = "invented camera", SECRET, TURNED
    exif.get_ifd(GPS)[LATITUDE_REF] = "N"
    exif.get_ifd(GPS)[LATITUDE] = (12.0, 34.0, 56.0)
    image, out = Image.new("RGB", (320, 200), "white"), BytesIO()
    image.paste("red", (0, 0, 40, 200))
    image.save(out, "JPEG", exif=exif, comment=SECRET, icc_profile=b"profile of " + SECRET.encode())
    return out.getvalue()


def png_of(width: int, height: int, *chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG by hand (ISO/IEC 15948, section 5): whatever its head claims, with little in it."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = [(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(b"\0" * 1000)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, data) for kind, data in parts)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def segments(jpeg: bytes) -> list[int]:
    """The marker codes up to the scan (ITU-T T.81, annex B): each segment tells its own length."""
    assert jpeg[:2] == b"\xff\xd8"
    found, at = list[int](), 2
    while jpeg[at + 1] != 0xDA:
        assert jpeg[at] == 0xFF
        found.append(jpeg[at + 1])
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")
    return found
