"""PDFs for tests, made in memory: piles of pictures by Pillow, and odd pages written out by hand
(ISO 32000-1, 7.5 and 8.9)."""

import zlib
from io import BytesIO
from time import gmtime
from typing import Any

from PIL import Image

WHOLE_PAGE = "q 40 0 0 60 0 0 cm /Im Do Q"


def pile_of(*pictures: Image.Image, **options: Any) -> bytes:
    """A page a picture; what Pillow makes of each mode: JPEG of grey and colour, CCITT of 1 bit."""
    told = BytesIO()
    first, *more = pictures
    fixed = {"resolution": 100, "creationDate": gmtime(0), "modDate": gmtime(0)}
    first.save(told, "PDF", save_all=True, append_images=more, **fixed | options)
    return told.getvalue()


def tiff_of(*pictures: Image.Image, **options: Any) -> bytes:
    told = BytesIO()
    first, *more = pictures
    first.save(told, "TIFF", save_all=True, append_images=more, **options)
    return told.getvalue()


def pdf_of(
    picture: Image.Image | None,
    content: str = WHOLE_PAGE,
    *,
    page: str = "",
    image: str = "/ColorSpace /DeviceRGB /BitsPerComponent 8",
    box: str = "0 0 40 60",
    size: tuple[int, int] | None = None,
    trailer: str = "",
) -> bytes:
    """One page of 40 × 60 points: these words, one raster, /Im, and a font, /F."""
    width, height = size or (picture.size if picture else (1, 1))
    raster = zlib.compress(picture.tobytes() if picture else bytes(3))
    return _written(
        [
            b"<< /Type /Catalog /Pages 2 0 R >>",
            b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            f"<< /Type /Page /Parent 2 0 R /MediaBox [{box}] /Contents 4 0 R {page} /Resources "
            "<< /XObject << /Im 5 0 R >> /Font << /F 6 0 R >> >> >>".encode(),
            _stream("", content.encode()),
            _stream(
                f"/Type /XObject /Subtype /Image /Width {width} /Height {height} "
                f"/Filter /FlateDecode {image}",
                raster,
            ),
            b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
        ],
        trailer,
    )


def without_pages() -> bytes:
    return _written(
        [b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [] /Count 0 >>"], ""
    )


def locked() -> bytes:
    """Its /Encrypt asks for a password that nobody has (standard handler, revision 2)."""
    key = "<" + "a5" * 32 + ">"
    lock = f"/Encrypt << /Filter /Standard /V 1 /R 2 /O {key} /U {key} /P -4 >>"
    return pdf_of(None, trailer=f"{lock} /ID [<aa> <aa>]")


def _stream(words: str, content: bytes) -> bytes:
    head = f"<< {words} /Length {len(content)} >>\nstream\n".encode()
    return head + content + b"\nendstream"


def _written(objects: list[bytes], trailer: str) -> bytes:
    told, places = BytesIO(), []
    told.write(b"%PDF-1.7\n")
    for n, content in enumerate(objects, 1):
        places.append(told.tell())
        told.write(b"%d 0 obj\n%s\nendobj\n" % (n, content))
    table = told.tell()
    told.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1))
    told.write(b"".join(b"%010d 00000 n \n" % place for place in places))
    told.write(f"trailer\n<< /Size {len(objects) + 1} /Root 1 0 R {trailer} >>\n".encode())
    told.write(b"startxref\n%d\n%%%%EOF\n" % table)
    return told.getvalue()
